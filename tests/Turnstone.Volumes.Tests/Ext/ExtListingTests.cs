using System.Globalization;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>What the kernel's own driver, FIEMAP and debugfs say of a volume is what is read here.</summary>
[Trait("kind", "privileged")]
public sealed class ExtListingTests
{
    public static TheoryData<string> All => ExtFixture.All;

    /// <summary>dumpe2fs does not follow the journal, so its bitmaps of that one are older.</summary>
    public static TheoryData<string> AllButWaiting => [.. ExtFixture.Variants.Where(v => v != "waiting")];

    [Theory]
    [MemberData(nameof(All))]
    public void Every_live_file_has_the_digest_extents_and_time_that_the_kernel_gives(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        ILookup<string, Entry> read = ExtFixture.Entries(disk).Where(e => !e.Deleted).ToLookup(e => e.Path.ToString());
        foreach (ManifestLine line in outside.Manifest.Where(line => !line.Deleted && line.Type is "file" or "link"))
        {
            Entry entry = Assert.Single(read[line.Path]);
            Assert.Equal((line.Path, line.Size, line.Sha256), (line.Path, entry.Size!.Value, entry.Digest(disk)));
            Assert.Equal(line.Type == "link" ? EntryKind.Link : EntryKind.File, entry.Kind);
            Assert.Equal(line.Modified, entry.Times.Modified!.Value.ToUnixTimeSeconds());
            Assert.Equal((line.Path, Certainty.Sure, Origin.Table), (line.Path, entry.Certainty, entry.Origin));
            if (line.Proof == "bytes" && entry.Content!.Extents is { } extents)
                Assert.Equal(ManifestChecks.Extents(line), extents);
        }
    }

    [Theory]
    [MemberData(nameof(All))]
    public void Nothing_is_listed_as_there_that_the_kernel_does_not_list(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        IEnumerable<string> read = ExtFixture.Entries(disk).Where(e => !e.Deleted).Select(e => e.Path.ToString());
        Assert.Equal(outside.Manifest.Where(line => !line.Deleted).Select(line => line.Path).Append("lost+found").Order(StringComparer.Ordinal), read.Order(StringComparer.Ordinal));
    }

    [Theory]
    [InlineData("ext2", "ext2", 1024)]
    [InlineData("ext3", "ext3", 1024)]
    [InlineData("ext4", "ext4", 4096)]
    [InlineData("bigalloc", "ext4", 8192)]
    public void The_disk_reader_names_the_volume(string variant, string kind, int clusterBytes)
    {
        using ImageView disk = ExtFixture.Get(variant).Open();
        VolumeFacts facts = Assert.Single(Disk.Read(disk).Volumes).Facts;
        Assert.Equal((kind, "EXT " + variant, clusterBytes), (facts.Kind, facts.Label, facts.ClusterBytes));
        Assert.Equal(("6f1c2e0a-7d35-4c52-9d0f-3b8a5e10c4d2", Certainty.Sure, Origin.Table), (facts.Id, facts.Certainty, facts.Origin));
        Assert.Equal(new ByteRange(0, disk.Length), facts.Place);
    }

    [Fact]
    public void Names_of_one_file_are_two_entries_with_one_number()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        Entry[] names = [.. ExtFixture.Entries(disk).Where(e => e.Path.ToString() is "edges/size-4097.bin" or "edges/hard link.bin")];
        Assert.Equal(2, names.Length);
        Assert.Equal(names[0].Number, names[1].Number);
    }

    [Fact]
    public void Pipes_and_device_nodes_have_no_content()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        Entry[] found = [.. ExtFixture.Entries(disk).Where(e => e.Path.ToString() is "edges/pipe" or "edges/node")];
        Assert.Equal(2, found.Length);
        Assert.All(found, e => Assert.Equal((EntryKind.Other, null), (e.Kind, e.Content)));
    }

    [Theory]
    [MemberData(nameof(AllButWaiting))]
    public void Free_blocks_are_those_that_dumpe2fs_lists(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        var free = new SortedSet<long>();
        int size = 0, cluster = 0;
        foreach (string line in Tool.Run("dumpe2fs", outside.Image).Split('\n'))
        {
            if (line.StartsWith("Block size:", StringComparison.Ordinal))
                size = int.Parse(line[11..], CultureInfo.InvariantCulture);
            if (line.StartsWith("Cluster size:", StringComparison.Ordinal))
                cluster = int.Parse(line[13..], CultureInfo.InvariantCulture);
            if (line.StartsWith("  Free blocks: ", StringComparison.Ordinal))
                free.UnionWith(Ranges(line[15..], Math.Max(1, cluster / size)));
        }

        IEnumerable<long> read = ExtFixture.Open(disk).Usage().Where(run => run.Usage == Usage.Free)
            .SelectMany(run => Enumerable.Range(0, (int)(run.Place.Length / size)).Select(i => (run.Place.Offset / size) + i));
        Assert.Equal(free, read);
    }

    /// <summary>Where clusters are kept, the last number is the first block of the last free one.</summary>
    private static IEnumerable<long> Ranges(string text, int cluster) => text.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
        .Select(range => range.Split('-').Select(n => int.Parse(n, CultureInfo.InvariantCulture)).ToArray())
        .SelectMany(range => Enumerable.Range(range[0], range[^1] - range[0] + cluster).Select(n => (long)n));
}
