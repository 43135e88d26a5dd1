using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>Outside source: a volume that the Linux driver wrote, content as planned, places found by looking for the files' own blocks (tests/volumes/prebuilt/apfs.md).</summary>
public sealed class OutsideVolumeTests
{
    [Fact]
    public void Every_live_file_has_the_digest_and_the_extents_of_the_manifest()
    {
        using ImageView view = ApfsBench.Outside.Open();
        Dictionary<string, Entry> files = ApfsBench.Single(view).Entries().Where(e => e is { Kind: EntryKind.File, Deleted: false }).ToDictionary(e => e.Path.ToString());
        foreach (ManifestLine line in ApfsBench.Outside.LiveFiles)
        {
            Assert.True(files.Remove(line.Path, out Entry? entry), line.Path);
            Assert.Equal((line.Size, line.Sha256, Certainty.Sure, Origin.Table), (entry.Size, entry.Digest(view), entry.Certainty, entry.Origin));
            Assert.Equal(ManifestChecks.Extents(line), entry.Content!.Extents);
        }

        Assert.Empty(files);
    }

    [Fact]
    public void Folders_and_links_are_those_of_the_manifest()
    {
        using ImageView view = ApfsBench.Outside.Open();
        List<Entry> entries = [.. ApfsBench.Single(view).Entries().Where(e => !e.Deleted)];
        Assert.Equal(ApfsBench.Outside.Manifest.Where(l => l.Type == "dir").Select(l => l.Path).Order(StringComparer.Ordinal),
            entries.Where(e => e.Kind == EntryKind.Folder).Select(e => e.Path.ToString()).Order(StringComparer.Ordinal));
        ManifestLine link = Assert.Single(ApfsBench.Outside.Manifest, l => l.Type == "link");
        Entry entry = Assert.Single(entries, e => e.Kind == EntryKind.Link);
        Assert.Equal((link.Path, link.Size, link.Sha256), (entry.Path.ToString(), entry.Size, entry.Digest(view)));
    }

    [Fact]
    public void Deleted_files_come_back_from_older_checkpoints()
    {
        using ImageView view = ApfsBench.Outside.Open();
        List<Entry> deleted = [.. ApfsBench.Single(view).Entries().Where(e => e is { Deleted: true, Kind: EntryKind.File })];
        List<ManifestLine> gone = [.. ApfsBench.Outside.Manifest.Where(l => l.Deleted)];
        foreach (ManifestLine line in gone)
            Assert.Contains(deleted, e => e.Path.ToString() == line.Path && e.Digest(view) == line.Sha256);
        Assert.Equal(gone.Count, deleted.Count);
        Assert.All(deleted, e => Assert.Equal((Certainty.Guessed, Origin.Journal), (e.Certainty, e.Origin)));
    }
}
