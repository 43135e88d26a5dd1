using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>
/// Volumes that the Linux kernel's hfsplus driver filled, with what it and grub-fstest (a reader by other authors) say of them;
/// see tests/volumes/prebuilt/README.md.
/// </summary>
public class OutsideVolumes
{
    public static TheoryData<string> Names => ["hfsplus", "hfsx", "hfslinks"];

    [Theory, MemberData(nameof(Names))]
    public void Every_live_file_and_stream_has_the_digest_that_outsiders_saw(string name)
    {
        ISectorView disk = Prebuilt.View(name);
        var entries = Prebuilt.Open(disk)!.Entries().Where(e => !e.Deleted).ToDictionary(Prebuilt.PathOf);

        foreach (ManifestLine line in Prebuilt.Outside(name).Manifest.Where(l => !l.Deleted && l.Type is "file" or "stream" or "link"))
        {
            Assert.True(entries.TryGetValue(line.Path, out Entry? entry), line.Path);
            Assert.Equal((line.Path, line.Size, line.Sha256), (line.Path, entry.Size, Prebuilt.Digest(entry, disk)));
            Assert.Equal((line.Path, Certainty.Sure, Origin.Table), (line.Path, entry.Certainty, entry.Origin));
        }
    }

    [Theory, MemberData(nameof(Names))]
    public void Every_live_file_lies_where_outsiders_found_it(string name)
    {
        var entries = Prebuilt.Open(Prebuilt.View(name))!.Entries().Where(e => !e.Deleted).ToDictionary(Prebuilt.PathOf);

        foreach (ManifestLine line in Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: false, Proof: "bytes" }))
        {
            var theirs = new ExtentList(line.Size);
            foreach ((_, long? at, long length) in line.Extents)
                theirs.Add(Extent.At(at!.Value, length));
            Assert.Equal((IEnumerable<Extent>)theirs.Finish(), entries[line.Path].Content!.Extents!);
        }
    }

    [Theory, MemberData(nameof(Names))]
    public void Kinds_and_times_are_what_the_other_driver_shows(string name)
    {
        var entries = Prebuilt.Open(Prebuilt.View(name))!.Entries().Where(e => !e.Deleted).ToDictionary(Prebuilt.PathOf);

        foreach (ManifestLine line in Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: false, Modified: not null } && l.Type != "stream"))
            Assert.Equal((line.Path, line.Type, line.Modified), (line.Path, TypeOf(entries[line.Path]), entries[line.Path].Times.Modified?.ToUnixTimeSeconds()));
    }

    [Theory, MemberData(nameof(Names))]
    public void Nothing_is_listed_that_outsiders_do_not_know(string name)
    {
        var known = Prebuilt.Outside(name).Manifest.Where(l => !l.Deleted).Select(l => l.Path).ToHashSet();
        IEnumerable<string> ours = Prebuilt.Open(Prebuilt.View(name))!.Entries().Where(e => !e.Deleted).Select(Prebuilt.PathOf);

        // not in the manifest, because no outside reader shows their content
        Assert.Equal([], ours.Where(p => !known.Contains(p) && !p.StartsWith("packed/unknown", StringComparison.Ordinal) && p is not ("names/pipe" or "names/device")));
    }

    // A record that is taken out of a node is overwritten by those behind it, so few survive; common practice, no source.
    [Theory]
    [InlineData("hfsplus", 52, 5)]
    [InlineData("hfsx", 52, 5)]
    [InlineData("hfslinks", 129, 5)]
    public void Deleted_files_come_back_as_far_as_their_records_survive(string name, int deleted, int leastFound)
    {
        ISectorView disk = Prebuilt.View(name);
        ManifestLine[] lines = [.. Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: true, Proof: "bytes" })];
        var entries = Prebuilt.Open(disk)!.Entries().Where(e => e is { Deleted: true, Kind: EntryKind.File }).ToLookup(Prebuilt.PathOf);

        int found = lines.Count(l => entries[l.Path].Any(e => Prebuilt.Digest(e, disk) == l.Sha256));

        Assert.Equal(deleted, lines.Length);
        Assert.All(entries.SelectMany(e => e), e => Assert.Equal((Certainty.Guessed, Origin.Scan), (e.Certainty, e.Origin)));
        Assert.InRange(found, leastFound, deleted);
    }

    [Fact]
    public void A_file_compressed_in_a_way_that_is_not_decoded_says_so_and_is_not_whole()
    {
        ISectorView disk = Prebuilt.View("hfslinks");
        Entry[] unknown = [.. Prebuilt.Open(disk)!.Entries().Where(e => Prebuilt.PathOf(e).StartsWith("packed/unknown", StringComparison.Ordinal))];

        Assert.Equal(6, unknown.Length);
        Assert.All(unknown, e => Assert.Equal((5000, "compressed in a way that is not decoded here (kind 7)"), (e.Size, Assert.IsType<UnreadableContent>(e.Content).Why)));
        Assert.All(unknown, e => Assert.False(Prebuilt.IsAvailable(e, disk)));
    }

    [Fact]
    public void The_volume_says_who_it_is()
    {
        VolumeFacts facts = Prebuilt.Open(Prebuilt.View("hfslinks"))!.Facts;

        Assert.Equal(("HFS+", "Turnstone links", "5475726E73746F6E", 2048, Certainty.Sure), (facts.Kind, facts.Label, facts.Id, facts.ClusterBytes, facts.Certainty));
        Assert.Equal("HFSX", Prebuilt.Open(Prebuilt.View("hfsx"))!.Facts.Kind);
    }

    [Theory, MemberData(nameof(Names))]
    public void Blocks_of_live_files_are_in_use_and_those_of_deleted_ones_are_not(string name)
    {
        UsageRun[] usage = [.. Prebuilt.Open(Prebuilt.View(name))!.Usage()];
        Usage At(long offset) => usage.Single(r => r.Place.Contains(new ByteRange(offset, 1))).Usage;

        Assert.All(Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: false }).SelectMany(l => l.Extents), e => Assert.Equal(Usage.Used, At(e.ImageOffset!.Value)));
        // a deleted name of a file that has another one frees nothing
        var living = Prebuilt.Outside(name).LiveFiles.Select(l => l.Sha256).ToHashSet();
        Assert.All(Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: true, Size: > 0 } && !living.Contains(l.Sha256)).SelectMany(l => l.Extents), e => Assert.Equal(Usage.Free, At(e.ImageOffset!.Value)));
    }

    private static string TypeOf(Entry entry) => entry.Kind switch
    {
        EntryKind.File => "file",
        EntryKind.Folder => "dir",
        EntryKind.Link => "link",
        EntryKind.Stream => "stream",
        EntryKind.Other => "other",
    };
}
