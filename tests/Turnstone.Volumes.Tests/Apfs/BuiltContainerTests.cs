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

    /// <summary>Layout of the fork: from memory of Apple's published kernel source and of general-purpose tools that write it.</summary>
    [Fact]
    public void A_file_packed_into_its_resource_fork_loses_only_the_pieces_that_are_not_held()
    {
        byte[] file = [.. Enumerable.Range(0, 131_072).Select(i => (byte)(i / 700)), .. new byte[19_000]];
        new Random(5).NextBytes(file.AsSpan(131_072));
        byte[][] pieces = [Zlib(file[..65_536]), Zlib(file[65_536..131_072]), [0xFF, .. file[131_072..]]];
        byte[] fork = Fork(pieces);
        byte[] header = [.. "fpmc"u8, 4, 0, 0, 0, .. BitConverter.GetBytes((ulong)file.Length)];
        TreePlan tree = new TreePlan().Inode(20, 2, "a", 0x81A4, 20, null, 0x20).Named(2, "a", 20, 8)
            .Attribute(20, "com.apple.decmpfs", header).LongAttribute(20, "com.apple.ResourceFork", 21, (ulong)fork.Length, 90);
        byte[] image = ContainerBuilder.Build(4096, [new VolumePlan("v", tree)]);
        fork.CopyTo(image, 90 * 4096);
        var view = new MemoryView(image);
        FileContent content = Assert.Single(ApfsBench.Single(view).Entries()).Content!;
        var bytes = new byte[file.Length];
        Assert.True(content.TryRead(view, 0, bytes));
        Assert.Equal(file, bytes);
        Assert.Empty(content.Missing(view));
        var holed = new HoledView(view, [new ByteRange(93 * 4096, 512)]);
        Assert.Equal([ByteRange.Between(131_072, file.Length)], content.Missing(holed));
        Assert.False(content.TryRead(holed, 131_000, new byte[1000]));
        Assert.True(content.TryRead(holed, 65_000, new byte[1000]));
        Assert.Equal([new ByteRange(0, file.Length)], content.Missing(new HoledView(view, [new ByteRange(90 * 4096, 512)])));
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

    /// <summary>The leaf with the root folder's names is gone; the inodes keep theirs.</summary>
    [Fact]
    public void Names_that_the_lost_leaf_of_a_folder_held_come_from_the_inodes()
    {
        TreePlan tree = new TreePlan().Inode(20, 2, "docs", 0x41ED, 20, null, 0).Inode(21, 2, "a.txt", 0x81A4, 21, 4096, 0).Extent(21, 0, 4096, 90)
            .Sibling(21, 70, 2, "a.txt").Sibling(21, 71, 2, "other name").File(22, 20, "in docs", 10, 91).Named(20, "lost inode", 19, 8);
        var entries = ApfsBench.Single(new MemoryView(ContainerBuilder.Build(4096, [new VolumePlan("v", tree, LostBefore: 20)]))).Entries().ToDictionary(e => e.Path.ToString());
        Assert.Equal(["a.txt", "docs", "docs/in docs", "docs/lost inode", "other name"], entries.Keys.Order(StringComparer.Ordinal));
        Assert.All(entries.Values, e => Assert.Equal(Certainty.Likely, e.Certainty));
        Assert.Equal(entries["a.txt"].Content!.Extents, entries["other name"].Content!.Extents);
        Assert.Null(entries["docs/lost inode"].Content);
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

    private static byte[] Fork(byte[][] pieces)
    {
        int at = 4 + (8 * pieces.Length);
        var table = new List<byte>(BitConverter.GetBytes(pieces.Length));
        foreach (byte[] piece in pieces)
        {
            table.AddRange(BitConverter.GetBytes(at));
            table.AddRange(BitConverter.GetBytes(piece.Length));
            at += piece.Length;
        }

        byte[] head = [0, 0, 1, 0, .. new byte[0x100]];
        return [.. head, .. table, .. pieces.SelectMany(p => p)];
    }

    private static byte[] Zlib(byte[] plain)
    {
        using var packed = new MemoryStream();
        using (var stream = new ZLibStream(packed, CompressionLevel.Optimal))
            stream.Write(plain);
        return packed.ToArray();
    }
}
