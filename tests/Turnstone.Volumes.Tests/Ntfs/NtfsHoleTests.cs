using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>The same volume with parts of it not held.</summary>
public sealed class NtfsHoleTests
{
    private static readonly OutsideVolume Made = NtfsBench.Usual();
    private static readonly Lazy<Dictionary<string, Entry>> Folders = new(ReadFolders);

    public static TheoryData<double, int> Shares => new(from share in (double[])[0.001, 0.01, 0.05, 0.1, 0.3] from seed in Enumerable.Range(1, 4) select (share, seed));

    [Theory, MemberData(nameof(Shares)), Trait("kind", "privileged")]
    public void What_is_whole_and_not_guessed_has_the_digest_of_the_manifest(double share, int seed)
    {
        using ImageView image = Made.Open();
        HoledView view = NtfsBench.Holes(image, share, seed);
        ILookup<string, ManifestLine> manifest = Made.Manifest.ToLookup(m => m.Path);
        foreach (Entry entry in Entries(view).Where(e => e.Certainty != Certainty.Guessed && e.Path.Names[0] != "points"))
        {
            string path = NtfsBench.PathOf(entry);
            Assert.True(manifest.Contains(path), $"{path} was never on the volume");
            if (NtfsBench.Digest(entry.Content, view) is { } digest)
                Assert.Contains(digest, manifest[path].Select(m => m.Sha256));
        }
    }

    [Theory, MemberData(nameof(Shares)), Trait("kind", "privileged")]
    public void A_file_whose_bytes_and_whole_way_are_held_is_whole(double share, int seed)
    {
        using ImageView image = Made.Open();
        HoledView view = NtfsBench.Holes(image, share, seed);
        var whole = Entries(view).Where(e => !e.Deleted && e.Content is not null && NtfsBench.Digest(e.Content, view) is not null).Select(NtfsBench.PathOf).ToHashSet();
        int asked = 0;
        foreach (Entry entry in Entries(image).Where(e => !e.Deleted && e.Content is not (null or UnreadableContent)))
        {
            if (NtfsBench.TryOpen(view) is null || !IsWayHeld(entry, view) || !AreBytesHeld(entry, view))
                continue;
            asked++;
            Assert.Contains(NtfsBench.PathOf(entry), whole);
        }

        Assert.True(asked > 30 || NtfsBench.TryOpen(view) is null, $"only {asked} files to ask for");
    }

    [Theory, MemberData(nameof(Shares)), Trait("kind", "privileged")]
    public void Every_byte_that_is_told_as_held_is_the_files_own(double share, int seed)
    {
        using ImageView image = Made.Open();
        HoledView view = NtfsBench.Holes(image, share, seed);
        var real = Entries(image).Where(e => e is { Deleted: false, Content: not (null or UnreadableContent) }).ToDictionary(NtfsBench.PathOf);
        foreach (Entry entry in Entries(view).Where(e => e is { Deleted: false, Certainty: not Certainty.Guessed, Content: not (null or UnreadableContent) }))
        {
            byte[] want = NtfsBench.Bytes(real[NtfsBench.PathOf(entry)], image), got = new byte[want.Length];
            Assert.Equal(want.Length, entry.Content!.Length);
            var missing = entry.Content.Missing(view).ToList();
            Assert.Equal(missing.Count == 0, entry.Content.TryRead(view, 0, got));
            Assert.All(missing.Zip(missing.Skip(1)), pair => Assert.True(pair.First.End < pair.Second.Offset));
            foreach (ByteRange hole in missing)
                want.AsSpan((int)hole.Offset, (int)hole.Length).CopyTo(got.AsSpan((int)hole.Offset));
            Assert.True(want.AsSpan().SequenceEqual(got), NtfsBench.PathOf(entry));
        }
    }

    [Fact, Trait("kind", "privileged")]
    public void The_skeleton_alone_gives_the_full_list()
    {
        using ImageView image = Made.Open();
        var skeleton = NtfsBench.Open(image).Skeleton().ToList();
        HoledView bones = HoledView.Only(image, skeleton);
        Assert.Equal(Facts(Entries(image)), Facts(Entries(bones)));

        // The outside tool's figures for this volume: 251 clusters of $MFT, 2 of $Bitmap and $MFTMirr, the rest folders and lists.
        long bytes = skeleton.Sum(range => range.Length);
        Assert.InRange(bytes, 1 << 20, NtfsBench.VolumeBytes / 20);
    }

    [Fact, Trait("kind", "privileged")]
    public void The_skeleton_grows_from_the_boot_sector_to_the_full_list()
    {
        using ImageView image = Made.Open();
        var held = new List<ByteRange> { new(0, 512) };
        for (int round = 0; round < 6; round++)
            held.AddRange(NtfsBench.Open(HoledView.Only(image, held)).Skeleton().ToList());
        Assert.Equal(Facts(Entries(image)), Facts(Entries(HoledView.Only(image, held))));
    }

    [Fact, Trait("kind", "privileged")]
    public void The_boot_sectors_copy_serves_when_the_first_is_lost()
    {
        using ImageView image = Made.Open();
        Volume volume = NtfsBench.Open(new HoledView(image, [new ByteRange(0, 8192)]));
        Assert.Equal((Origin.Copy, Certainty.Likely, "ARBEIT ü"), (volume.Facts.Origin, volume.Facts.Certainty, volume.Facts.Label));
        Assert.Equal(Facts(Entries(image)), Facts(volume.Entries()));
    }

    [Fact, Trait("kind", "privileged")]
    public void The_copy_left_at_the_end_does_not_outvote_a_new_file_system()
    {
        using ImageView image = Made.Open();
        byte[] other = [0xEB, 0x3C, 0x90, .. "MSDOS5.0"u8, .. new byte[499], 0x55, 0xAA];
        Assert.Null(NtfsBench.TryOpen(new PatchedView(image, [(0, other)])));
    }

    [Fact, Trait("kind", "privileged")]
    public void The_mirror_serves_when_the_tables_own_record_is_lost()
    {
        using ImageView image = Made.Open();
        var view = new HoledView(image, [new ByteRange(4 * 4096, 4096)]);
        Assert.Equal(Facts(Entries(image)), Facts(Entries(view)));
        Assert.Contains(NtfsBench.Open(view).Facts.Notes, note => note.Contains("$MFTMirr"));
    }

    [Fact, Trait("kind", "privileged")]
    public void Records_are_found_by_searching_when_nothing_tells_where_they_lie()
    {
        using ImageView image = Made.Open();
        var view = new HoledView(image, [new ByteRange(4 * 4096, 4096), new ByteRange(8191 * 4096L, 4096)]);
        var entries = Entries(view).Where(e => !e.Deleted).ToList();
        Assert.Equal(Entries(image).Where(e => !e.Deleted).Select(NtfsBench.PathOf).Order(), entries.Select(NtfsBench.PathOf).Order());
        Assert.All(entries, e => Assert.Equal((Origin.Scan, Certainty.Likely), (e.Origin, e.Certainty)));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_file_whose_record_is_lost_keeps_its_name_from_the_folders_index()
    {
        using ImageView image = Made.Open();
        Entry lost = Entries(image).Single(e => !e.Deleted && e.Path.Name == "clip 1.mov");
        Entry named = Entries(new HoledView(image, [Record(lost)])).Single(e => e.Path.Name == "clip 1.mov");
        Assert.Equal((lost.Path, lost.Size, lost.Number, Origin.Copy, Certainty.Likely), (named.Path, named.Size, named.Number, named.Origin, named.Certainty));
        Assert.IsType<UnreadableContent>(named.Content);
    }

    [Fact, Trait("kind", "privileged")]
    public void A_folder_whose_record_is_lost_keeps_its_files_in_their_place()
    {
        using ImageView image = Made.Open();
        Entry folder = Entries(image).Single(e => e is { Deleted: false, Kind: EntryKind.Folder, Path.Name: "media" });
        var clips = Entries(new HoledView(image, [Record(folder)])).Where(e => !e.Deleted && e.Path.Name.StartsWith("clip ", StringComparison.Ordinal)).ToList();
        Assert.Equal(3, clips.Count);
        Assert.All(clips, e => Assert.Equal((folder.Path, Certainty.Likely), (e.Path.Parent, e.Certainty)));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_file_whose_folder_nothing_tells_of_stands_in_a_named_stand_in()
    {
        using ImageView image = Made.Open();
        Entry folder = Entries(image).Single(e => e is { Deleted: false, Kind: EntryKind.Folder, Path.Name: "media" });
        ByteRange rootRecord = new((4 * 4096) + (5 * 1024), 1024);
        var view = new HoledView(image, [Record(folder), rootRecord]);
        var clips = Entries(view).Where(e => !e.Deleted && e.Path.Name.StartsWith("clip ", StringComparison.Ordinal)).ToList();
        Assert.Equal(3, clips.Count);
        Assert.All(clips, e => Assert.Equal(("[folder not known]", Certainty.Guessed), (e.Path.Names[0], e.Certainty)));
        Assert.All(clips, e => Assert.NotNull(NtfsBench.Digest(e.Content, view)));
    }

    // Holes may take both boot sectors; then there is nothing to ask.
    private static IEnumerable<Entry> Entries(ISectorView view) => NtfsBench.TryOpen(view)?.Entries() ?? [];

    private static List<string> Facts(IEnumerable<Entry> entries) =>
        [.. entries.Select(e => $"{NtfsBench.PathOf(e)} {e.Kind} {e.Size} {e.Deleted} {e.Certainty} {e.Number} {e.Times.Modified} {(e.Content?.Extents is { } x ? string.Join(',', x) : "")}").Order()];

    // The fixture's table is one run from cluster 4 on, as ntfsinfo says (inode-0.txt).
    private static ByteRange Record(Entry entry) => new((4 * 4096) + (entry.Number!.Value * 1024), 1024);

    private static bool AreBytesHeld(Entry entry, HoledView view) =>
        entry.Content!.Extents is null || entry.Content.Extents.All(e => e.Kind != ExtentKind.Stored || !view.Missing(e.Place).Any());

    // Its own record and those of all folders above it. The two files that need more records than one are left out.
    private static bool IsWayHeld(Entry entry, HoledView view)
    {
        if (entry.Path.Names.Intersect(["shredded.bin", "streams.txt"]).Any())
            return false;
        IEnumerable<Entry> way = FoldersAbove(entry).Append(entry);
        return way.All(e => !view.Missing(Record(e)).Any());
    }

    private static IEnumerable<Entry> FoldersAbove(Entry entry)
    {
        for (EntryPath? at = entry.Kind == EntryKind.Stream ? entry.Path.Parent!.Parent : entry.Path.Parent; at is { IsRoot: false }; at = at.Parent)
            yield return Folders.Value[at.ToString()];
    }

    private static Dictionary<string, Entry> ReadFolders()
    {
        using ImageView image = Made.Open();
        return Entries(image).Where(e => e is { Deleted: false, Kind: EntryKind.Folder }).ToDictionary(e => e.Path.ToString());
    }
}
