using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.HfsPlus;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>The same volumes with sectors missing: nothing wrong may be said of them, and everything that is still there must be found.</summary>
public class HoledVolumes
{
    private static readonly double[] Shares = [0.001, 0.01, 0.05, 0.15, 0.3];

    public static TheoryData<string, double, int> Cases()
    {
        var cases = new TheoryData<string, double, int>();
        foreach (string name in (string[])["hfsplus", "hfsx", "hfslinks"])
        {
            foreach (double share in Shares)
            {
                for (int seed = 1; seed <= 4; seed++)
                    cases.Add(name, share, seed);
            }
        }

        return cases;
    }

    [Theory, MemberData(nameof(Cases))]
    public void What_is_whole_and_not_guessed_is_the_file_that_outsiders_saw(string name, double share, int seed)
    {
        HoledView disk = Holes.Punch(Prebuilt.View(name), share, seed);
        var known = Prebuilt.Outside(name).Manifest.Where(l => !l.Deleted).ToDictionary(l => l.Path);
        IEnumerable<Entry> entries = Prebuilt.Open(disk)?.Entries() ?? [];

        foreach (Entry entry in entries.Where(e => e.Certainty != Certainty.Guessed && Prebuilt.IsAvailable(e, disk)))
        {
            Assert.False(entry.Deleted);
            bool isKnown = known.TryGetValue(Prebuilt.PathOf(entry), out ManifestLine? line);
            // a linked file none of whose names is held stands where the volume keeps it
            if (!isKnown && IsKept(entry))
                Assert.Contains(Prebuilt.Digest(entry, disk), known.Values.Select(l => l.Sha256));
            else if (entry.Kind != EntryKind.Other)
                Assert.Equal((Prebuilt.PathOf(entry), line?.Sha256), (Prebuilt.PathOf(entry), Prebuilt.Digest(entry, disk)));
        }
    }

    [Theory, MemberData(nameof(Cases))]
    public void No_path_is_invented(string name, double share, int seed)
    {
        HoledView disk = Holes.Punch(Prebuilt.View(name), share, seed);
        var known = Prebuilt.Open(Prebuilt.View(name))!.Entries().Where(e => !e.Deleted).Select(Prebuilt.PathOf).ToHashSet();
        Entry[] entries = [.. (Prebuilt.Open(disk)?.Entries() ?? []).Where(e => e.Certainty != Certainty.Guessed)];

        Assert.Equal([], entries.Where(e => !known.Contains(Prebuilt.PathOf(e)) && !IsKept(e)).Select(Prebuilt.PathOf));
        Assert.Equal(entries.Length, entries.Select(Prebuilt.PathOf).Distinct().Count());
    }

    [Theory, MemberData(nameof(Cases))]
    public void A_file_whose_bytes_and_records_are_held_is_whole(string name, double share, int seed)
    {
        HoledView disk = Holes.Punch(Prebuilt.View(name), share, seed);
        var entries = (Prebuilt.Open(disk)?.Entries() ?? []).Where(e => !e.Deleted).ToLookup(Prebuilt.PathOf);
        MetadataPaths paths = MetadataPaths.Of(name);

        foreach (ManifestLine line in Prebuilt.Outside(name).Manifest.Where(l => l is { Deleted: false, Proof: "bytes" } && paths.AreHeld(l, disk)))
        {
            Entry? entry = entries[line.Path].SingleOrDefault();
            Assert.True(entry is { Certainty: not Certainty.Guessed } && Prebuilt.IsAvailable(entry, disk), $"{line.Path}: {entry}");
            Assert.Equal((line.Path, line.Sha256), (line.Path, Prebuilt.Digest(entry, disk)));
        }
    }

    [Fact]
    public void The_questions_above_are_asked_of_many_files()
    {
        HoledView disk = Holes.Punch(Prebuilt.View("hfslinks"), 0.05, 1);
        MetadataPaths paths = MetadataPaths.Of("hfslinks");

        Assert.InRange(Prebuilt.Outside("hfslinks").Manifest.Count(l => l is { Deleted: false, Proof: "bytes" } && paths.AreHeld(l, disk)), 100, 700);
    }

    [Fact]
    public void A_child_that_the_index_names_wrongly_is_found_by_its_neighbours()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        var before = Prebuilt.LiveFiles(Prebuilt.Open(Prebuilt.View("hfsplus"))!).Select(Prebuilt.PathOf).ToHashSet();
        BendFirstChildOfRoot(bytes);

        var after = Prebuilt.LiveFiles(Prebuilt.Open(new MemoryView(bytes))!).Where(e => e.Certainty != Certainty.Guessed).ToDictionary(Prebuilt.PathOf);

        Assert.Equal(before.Order(StringComparer.Ordinal), after.Keys.Order(StringComparer.Ordinal));
        Assert.Contains(after.Values, e => e.Certainty == Certainty.Likely);
    }

    /// <summary>Makes the second record of the root node lead to a node that the tree has given up: its leaf is one of deleted files.</summary>
    private static void BendFirstChildOfRoot(byte[] bytes)
    {
        var view = new PartView(new MemoryView(bytes), new ByteRange(0, bytes.Length));
        BTreeFile catalog = new VolumeReading(new VolumePlace(view, 0, 0), FoundHeader.In(view)!).Catalog;
        BTreeNode root = catalog.Read(catalog.Header!.Root);
        long at = (catalog.Header.Root * 4096L) + root.StartOf(1) + root.Record(1).Length - 1;
        ForkPiece piece = catalog.Map.Pieces.Single(p => p.FileOffset <= at && at < p.FileEnd);
        bytes[piece.VolumeOffset + at - piece.FileOffset] = 63;
    }

    private static bool IsKept(Entry entry) => entry.Path.Parent?.Name == "\0\0\0\0HFS+ Private Data";
}
