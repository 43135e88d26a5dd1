using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Tests;

/// <summary>What no entry leads to any more, because the folder that held the entry is not held.</summary>
public sealed class LostFolderTests
{
    [Theory]
    [InlineData("make-fat.sh", "16")]
    [InlineData("make-fat.sh", "32")]
    [InlineData("make-exfat.sh", "512")]
    public void With_the_root_lost_folders_are_found_and_their_files_are_whole(string script, string argument)
    {
        OutsideVolume outside = OutsideVolume.Make(script, argument);
        using ImageView image = outside.Open();
        var volume = (ClusterVolume)Disk.Read(image).Volumes[0];
        ByteRange root = volume.RootPlace.IsEmpty
            ? volume.Heap.Place(volume.Root(new ChainReader(new AllocationTable(volume.Part, volume.Table))).Chain!.Runs[0])
            : volume.RootPlace;
        var holed = new HoledView(image, [root]);
        Entry[] entries = [.. Disk.Read(holed).Volumes[0].Entries()];
        Assert.DoesNotContain(entries, entry => entry.Certainty == Certainty.Sure);
        HashSet<string> digests = [.. entries.Where(e => e is { Deleted: false, Kind: EntryKind.File, Origin: Origin.Scan } && !e.Path.Name.StartsWith("chain", StringComparison.Ordinal))
            .Select(e => ManifestChecks.Digest(holed, e.Content!)).OfType<string>()];
        ManifestLine[] missing = [.. outside.LiveFiles.Where(line => line.Size > 0 && !digests.Contains(line.Sha256))];
        // exFAT has no bitmap without its root, so of a folder that needs the table and has been read by its first cluster only some may be left out.
        Assert.True(missing.Length <= outside.LiveFiles.Count() / 20, $"{missing.Length} not found: {string.Join(", ", missing.Take(5).Select(m => m.Path))}");
        Assert.Contains(entries, entry => entry.Path.ToString().Contains("/note 2.txt"));
    }

    [Fact]
    public void A_folder_whose_own_entry_is_lost_keeps_its_place_below_its_parent()
    {
        OutsideVolume outside = OutsideVolume.Make("make-fat.sh", "16");
        using ImageView image = outside.Open();
        var volume = (ClusterVolume)Disk.Read(image).Volumes[0];
        Entry folder = volume.Entries().Single(e => e.Path.ToString() == "deep/level 0");
        ByteRange place = volume.Heap.Place(new ClusterRun((uint)folder.Number!.Value, 1));
        Entry[] entries = [.. Disk.Read(new HoledView(image, [place])).Volumes[0].Entries()];
        Entry note = entries.Single(e => e.Path.Name == "note 2.txt");
        Assert.StartsWith("deep/level 0/folder at cluster ", note.Path.ToString());
        Assert.Equal((Origin.Scan, Certainty.Guessed), (note.Origin, note.Certainty));
    }

    [Fact]
    public void A_chain_without_an_entry_comes_out_as_a_file_without_a_name()
    {
        OutsideVolume outside = OutsideVolume.Make("make-fat.sh", "16");
        using ImageView image = outside.Open();
        var volume = (ClusterVolume)Disk.Read(image).Volumes[0];
        Entry folder = volume.Entries().Single(e => e.Path.ToString() == "pieces");
        var holed = new HoledView(image, [volume.Heap.Place(new ClusterRun((uint)folder.Number!.Value, 1))]);
        Entry[] entries = [.. Disk.Read(holed).Volumes[0].Entries()];
        foreach (ManifestLine line in outside.LiveFiles.Where(l => l.Path.StartsWith("pieces/", StringComparison.Ordinal)))
        {
            Entry chain = entries.Single(e => e.Content?.Extents is [var first, ..] && first.Offset == line.Extents[0].ImageOffset);
            Assert.StartsWith("lost+found/chain at cluster ", chain.Path.ToString());
            Assert.Equal(ManifestChecks.Extents(line).Sum(e => e.Length), chain.Size - (chain.Size - line.Size));
            Assert.Equal(line.Extents.Select(e => e.ImageOffset), chain.Content!.Extents!.Select(e => (long?)e.Offset));
        }
    }

    [Fact]
    public void A_set_cut_by_a_hole_keeps_its_place_and_what_is_held_of_its_name()
    {
        OutsideVolume outside = OutsideVolume.Make("make-exfat.sh", "512");
        using ImageView image = outside.Open();
        var found = new HashSet<string>();
        var volume = (ClusterVolume)Disk.Read(image).Volumes[0];
        Entry folder = volume.Entries().Single(e => e.Path.ToString() == "many/group-0");
        ByteRange place = volume.Heap.Place(new ClusterRun((uint)folder.Number!.Value, 1));
        for (long at = place.Offset; at < place.End; at += 512)
        {
            var holed = new HoledView(image, [new ByteRange(at, 512)]);
            foreach (Entry entry in Disk.Read(holed).Volumes[0].Entries().Where(e => e is { Deleted: false, Certainty: Certainty.Guessed, Origin: Origin.Table }))
            {
                Assert.Contains(outside.LiveFiles, line => ManifestChecks.Digest(holed, entry.Content!) == line.Sha256);
                found.Add(entry.Path.Name.EndsWith('…') ? "cut" : "headless");
            }
        }

        Assert.Equal(["cut", "headless"], found.Order());
    }
}
