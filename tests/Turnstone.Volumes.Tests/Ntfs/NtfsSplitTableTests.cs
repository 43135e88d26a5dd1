using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>A file table in more than 200 pieces, told by three records of its own (ntfsinfo: inode-0.txt).</summary>
public sealed class NtfsSplitTableTests
{
    private static readonly OutsideVolume Made = OutsideVolume.Make("make-ntfs-split.sh");

    [Fact, Trait("kind", "privileged")]
    public void Every_file_of_the_manifest_comes_out()
    {
        Assert.Contains("$ATTRIBUTE_LIST", File.ReadAllText(Path.Combine(Made.Folder, "inode-0.txt")));
        using ImageView image = Made.Open();
        var live = NtfsBench.Open(image).Entries().Where(e => e is { Deleted: false, Kind: EntryKind.File }).ToList();
        Assert.Equal(Made.LiveFiles.Select(m => $"{m.Path} {m.Sha256}").Order(), live.Select(e => $"{NtfsBench.PathOf(e)} {NtfsBench.Digest(e.Content, image)}").Order());
        Assert.All(live, e => Assert.Equal(Certainty.Sure, e.Certainty));
    }

    [Fact, Trait("kind", "privileged")]
    public void The_skeleton_grows_to_the_whole_table()
    {
        using ImageView image = Made.Open();
        var held = new List<ByteRange> { new(0, 512) };
        for (int round = 0; round < 8; round++)
            held.AddRange(NtfsBench.Open(HoledView.Only(image, held)).Skeleton().ToList());
        Assert.Equal(Made.LiveFiles.Count(), NtfsBench.Open(HoledView.Only(image, held)).Entries().Count(e => e is { Deleted: false, Kind: EntryKind.File }));
    }

    [Fact, Trait("kind", "privileged")]
    public void Records_past_the_known_pieces_are_found_by_searching_and_called_guessed()
    {
        using ImageView image = Made.Open();
        // Record 15 tells the second half of the table's places; without it and the mirror's help only a search finds them.
        var view = new HoledView(image, [new ByteRange((4 * 4096) + (15 * 1024), 1024)]);
        var live = NtfsBench.Open(view).Entries().Where(e => e is { Deleted: false, Kind: EntryKind.File }).ToList();
        Assert.Equal(Made.LiveFiles.Select(m => $"{m.Path} {m.Sha256}").Order(), live.Select(e => $"{NtfsBench.PathOf(e)} {NtfsBench.Digest(e.Content, view)}").Order());
        var found = live.Where(e => e.Origin == Origin.Scan).ToList();
        Assert.InRange(found.Count, 1, live.Count - 1);
        Assert.All(found, e => Assert.Equal(Certainty.Guessed, e.Certainty));
    }
}
