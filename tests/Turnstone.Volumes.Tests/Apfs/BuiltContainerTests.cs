using System.IO.Compression;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>Containers written by the test's own builder, for what the outside tools here cannot make.</summary>
public sealed class BuiltContainerTests
{
    [Fact]
    public void Each_volume_of_a_container_comes_with_its_own_entries()
    {
        byte[] image = ContainerBuilder.Build(4096, [
            new VolumePlan("first", new TreePlan().File(20, 2, "a.txt", 100, 90)),
            new VolumePlan("second", new TreePlan().Folder(30, 2, "in").File(31, 30, "b.txt", 200, 91))]);
        IReadOnlyList<Volume> volumes = ApfsBench.Open(new MemoryView(image));
        Assert.Equal([("p1.v1", "first"), ("p1.v2", "second")], volumes.Select(v => (v.Facts.Name, v.Facts.Label)));
        Assert.Equal([["a.txt"], ["in", "in/b.txt"]], volumes.Select(v => v.Entries().Select(e => e.Path.ToString())));
    }

    [Theory]
    [InlineData(4096)]
    [InlineData(16_384)]
    [InlineData(65_536)]
    public void Any_block_size_is_read(int blockBytes)
    {
        byte[] image = ContainerBuilder.Build(blockBytes, [new VolumePlan("v", new TreePlan().File(20, 2, "a", (ulong)blockBytes + 1, 90))]);
        image.AsSpan(90 * blockBytes, blockBytes + 1).Fill((byte)'x');
        var view = new MemoryView(image);
        Volume volume = ApfsBench.Single(view);
        Entry entry = Assert.Single(volume.Entries());
        Assert.Equal((blockBytes, Certainty.Sure), (volume.Facts.ClusterBytes, entry.Certainty));
        Assert.Equal([Extent.At(90L * blockBytes, blockBytes + 1)], entry.Content!.Extents!);
    }

    [Fact]
    public void An_encrypted_volume_is_named_and_not_read()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("secret", new TreePlan().File(20, 2, "a", 1, 90), IsEncrypted: true)]);
        Volume volume = ApfsBench.Single(new MemoryView(image));
        Assert.Equal((false, "encrypted APFS", "secret"), (volume.IsReadable, volume.Facts.Kind, volume.Facts.Label));
        Assert.Contains(volume.Facts.Notes, n => n.StartsWith("encrypted", StringComparison.Ordinal));
        Assert.Empty(volume.Entries());
        Assert.NotEmpty(volume.Skeleton());
    }

    [Fact]
    public void Half_of_a_Fusion_pair_says_so_and_leaves_the_other_drives_blocks_unknown()
    {
        const ulong otherDrive = 0x4000_0000_0000_0000 / 4096;
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().File(20, 2, "a", 5000, otherDrive + 3))], incompatible: 0x102);
        Volume volume = ApfsBench.Single(new MemoryView(image));
        Assert.Contains(volume.Facts.Notes, n => n.Contains("Fusion", StringComparison.Ordinal));
        Assert.Equal([Extent.Unknown(5000)], Assert.Single(volume.Entries()).Content!.Extents!);
    }

    [Fact]
    public void Clones_share_their_blocks()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().File(20, 2, "original", 4096, 90)
            .Inode(21, 2, "clone", 0x81A4, 20, 4096, 0).Named(2, "clone", 21, 8))]);
        List<Entry> entries = [.. ApfsBench.Single(new MemoryView(image)).Entries()];
        Assert.Equal(["clone", "original"], entries.Select(e => e.Path.ToString()).Order(StringComparer.Ordinal));
        Assert.All(entries, e => Assert.Equal([Extent.At(90 * 4096, 4096)], e.Content!.Extents!));
    }

    [Fact]
    public void A_stretch_without_a_record_is_unknown_and_one_without_a_block_is_zeros()
    {
        TreePlan tree = new TreePlan().Inode(20, 2, "a", 0x81A4, 20, 20_000, 0).Named(2, "a", 20, 8).Extent(20, 0, 4096, 90).Extent(20, 8192, 4096, 0);
        Entry entry = Assert.Single(ApfsBench.Single(new MemoryView(ContainerBuilder.Build(4096, [new VolumePlan("v", tree)]))).Entries());
        Assert.Equal([Extent.At(90 * 4096, 4096), Extent.Unknown(4096), Extent.Zeros(4096), Extent.Unknown(20_000 - 12_288)], entry.Content!.Extents!);
        Assert.Equal(Certainty.Likely, entry.Certainty);
    }

    [Theory]
    [InlineData(3, true)]
    [InlineData(7, false)]
    [InlineData(12, false)]
    public void A_compressed_file_is_unpacked_or_says_why_not(byte kind, bool isDecoded)
    {
        byte[] text = [.. Enumerable.Repeat("packs well. "u8.ToArray(), 200).SelectMany(b => b)];
        byte[] header = [.. "fpmc"u8, kind, 0, 0, 0, .. BitConverter.GetBytes((ulong)text.Length)];
        TreePlan tree = new TreePlan().Inode(20, 2, "a", 0x81A4, 20, null, 0x20).Named(2, "a", 20, 8).Attribute(20, "com.apple.decmpfs", [.. header, .. Zlib(text)]);
        var view = new MemoryView(ContainerBuilder.Build(4096, [new VolumePlan("v", tree)]));
        Entry entry = Assert.Single(ApfsBench.Single(view).Entries());
        Assert.Equal((text.Length, EntryAttributes.Compressed), (entry.Size, entry.Attributes));
        var bytes = new byte[text.Length];
        Assert.Equal(isDecoded, entry.Content!.TryRead(view, 0, bytes));
        Assert.Equal(isDecoded ? text : new byte[text.Length], bytes);
        Assert.Equal(isDecoded, entry.Content is not UnreadableContent);
    }

    [Fact]
    public void A_name_whose_inode_is_lost_is_still_named()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().Named(2, "only a name", 20, 8))]);
        Entry entry = Assert.Single(ApfsBench.Single(new MemoryView(image)).Entries());
        Assert.Equal(("only a name", EntryKind.File, null, Certainty.Likely), (entry.Path.ToString(), entry.Kind, entry.Content, entry.Certainty));
    }

    [Fact]
    public void An_inode_that_no_folder_lists_is_a_guess()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().Inode(20, 2, "stray", 0x81A4, 20, 0, 0))]);
        Entry entry = Assert.Single(ApfsBench.Single(new MemoryView(image)).Entries());
        Assert.Equal(("stray", Certainty.Guessed), (entry.Path.ToString(), entry.Certainty));
    }

    [Fact]
    public void Folders_that_contain_each_other_end()
    {
        TreePlan tree = new TreePlan().Folder(20, 21, "a").Folder(21, 20, "b").Folder(22, 22, "itself").File(23, 21, "file", 10, 90);
        List<Entry> entries = [.. ApfsBench.Single(new MemoryView(ContainerBuilder.Build(4096, [new VolumePlan("v", tree)]))).Entries()];
        Assert.Contains(entries, e => e.Path.Name == "file");
        Assert.All(entries, e => Assert.Equal(Certainty.Guessed, e.Certainty));
    }

    [Fact]
    public void A_file_longer_than_any_number_of_bytes_has_no_content()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().Inode(20, 2, "a", 0x81A4, 20, ulong.MaxValue, 0).Named(2, "a", 20, 8))]);
        Assert.Null(Assert.Single(ApfsBench.Single(new MemoryView(image)).Entries()).Content);
    }

    [Fact]
    public void A_hostile_name_stays_as_it_is()
    {
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().File(20, 2, "../\u001b[2J<b>", 10, 90))]);
        Assert.Equal("../\u001b[2J<b>", Assert.Single(ApfsBench.Single(new MemoryView(image)).Entries()).Path.Name);
    }

    private static byte[] Zlib(byte[] plain)
    {
        using var packed = new MemoryStream();
        using (var stream = new ZLibStream(packed, CompressionLevel.Optimal))
            stream.Write(plain);
        return packed.ToArray();
    }
}
