using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>What the kernel's own driver and FIEMAP say of a volume is what is read here.</summary>
[Trait("kind", "privileged")]
public sealed class ExtListingTests
{
    [Theory]
    [MemberData(nameof(ExtFixture.All), MemberType = typeof(ExtFixture))]
    public void Every_live_file_has_the_digest_extents_and_time_that_the_kernel_gives(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        ILookup<string, Entry> read = ExtFixture.Open(disk).Entries().Where(e => !e.Deleted).ToLookup(e => e.Path.ToString());
        foreach (ManifestLine line in outside.Manifest.Where(line => !line.Deleted && line.Type is "file" or "link"))
        {
            Entry entry = Assert.Single(read[line.Path]);
            Assert.Equal((line.Path, line.Size, line.Sha256), (line.Path, entry.Size!.Value, entry.Digest(disk)));
            Assert.Equal(line.Type == "link" ? EntryKind.Link : EntryKind.File, entry.Kind);
            Assert.Equal(line.Modified, entry.Times.Modified!.Value.ToUnixTimeSeconds());
            Assert.Equal(Certainty.Sure, entry.Certainty);
            if (line.Proof == "bytes" && line.Size > 0 && entry.Content!.Extents is not null)
                Assert.Equal(ExtFixture.Show(line.Extents, line.Size), ExtFixture.Show(entry.Content));
        }
    }

    [Theory]
    [MemberData(nameof(ExtFixture.All), MemberType = typeof(ExtFixture))]
    public void Nothing_is_listed_as_there_that_the_kernel_does_not_list(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        IEnumerable<string> read = ExtFixture.Open(disk).Entries().Where(e => !e.Deleted).Select(e => e.Path.ToString());
        Assert.Equal(outside.Manifest.Where(line => !line.Deleted).Select(line => line.Path).Append("lost+found").Order(StringComparer.Ordinal), read.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Names_of_one_file_are_two_entries_with_one_number()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        Entry[] names = [.. ExtFixture.Open(disk).Entries().Where(e => e.Path.ToString() is "edges/size-4097.bin" or "edges/hard link.bin")];
        Assert.Equal(2, names.Length);
        Assert.Equal(names[0].Number, names[1].Number);
    }

    [Fact]
    public void Pipes_and_device_nodes_have_no_content()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        Assert.All(ExtFixture.Open(disk).Entries().Where(e => e.Path.ToString() is "edges/pipe" or "edges/node"), e => Assert.Equal((EntryKind.Other, null), (e.Kind, e.Content)));
    }
}
