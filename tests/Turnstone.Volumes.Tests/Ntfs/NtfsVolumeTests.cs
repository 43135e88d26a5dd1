using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>Whole volumes against what ntfs-3g and ntfsinfo (package ntfs-3g 2022.10.3) say of them.</summary>
public sealed class NtfsVolumeTests
{
    /// <summary>Sector size, cluster size and start of the volume, as make-ntfs.sh takes them.</summary>
    public static TheoryData<string> Shapes => ["", "512 512 1048576", "4096 4096", "512 65536"];

    [Theory, MemberData(nameof(Shapes)), Trait("kind", "privileged")]
    public void Every_live_file_stream_and_link_has_the_digest_of_the_manifest(string shape)
    {
        OutsideVolume made = OutsideVolume.Make("make-ntfs.sh", shape.Split(' ', StringSplitOptions.RemoveEmptyEntries));
        using ImageView view = made.Open();
        var entries = NtfsBench.Open(view, made.Manifest[0].VolumeOffset).Entries().Where(e => !e.Deleted && !(IsPoint(e) && e.Content is UnreadableContent)).ToList();

        var told = entries.Where(e => e.Kind != EntryKind.Folder).Select(e => $"{NtfsBench.PathOf(e)} {e.Size} {NtfsBench.Digest(e.Content, view)}").Order();
        Assert.Equal(made.Manifest.Where(m => !m.Deleted && m.Type != "dir").Select(m => $"{m.Path} {m.Size} {m.Sha256}").Order(), told);
        Assert.Equal(made.Manifest.Where(m => m.Type == "dir").Select(m => m.Path).Order(), entries.Where(e => e.Kind == EntryKind.Folder).Select(NtfsBench.PathOf).Order());
        Assert.All(entries, e => Assert.Equal((Certainty.Sure, Origin.Table, 0), (e.Certainty, e.Origin, e.Notes.Count)));
    }

    [Theory, MemberData(nameof(Shapes)), Trait("kind", "privileged")]
    public void Extents_are_those_of_ntfsinfo(string shape)
    {
        OutsideVolume made = OutsideVolume.Make("make-ntfs.sh", shape.Split(' ', StringSplitOptions.RemoveEmptyEntries));
        using ImageView view = made.Open();
        var entries = NtfsBench.Open(view, made.Manifest[0].VolumeOffset).Entries().Where(e => !e.Deleted).ToDictionary(NtfsBench.PathOf);

        // Of the sparse file ntfsinfo tells whole clusters; the model ends where the last written byte does.
        var manifest = made.Manifest.Where(m => m is { Deleted: false, Proof: "bytes", Extents.Count: > 0 } && m.Path != "odd/holes.bin").ToList();
        Assert.True(manifest.Count > 20);
        Assert.All(manifest, m => Assert.Equal(Cut(m), entries[m.Path].Content!.Extents!.Select(e => (e.Kind == ExtentKind.Stored ? e.Offset : (long?)null, e.Length))));
    }

    [Fact, Trait("kind", "privileged")]
    public void Times_are_those_that_the_driver_shows()
    {
        OutsideVolume made = NtfsBench.Usual();
        using ImageView view = made.Open();
        var entries = NtfsBench.Open(view).Entries().Where(e => !e.Deleted).ToDictionary(NtfsBench.PathOf);
        Assert.All(made.Manifest.Where(m => !m.Deleted), m => Assert.Equal(m.Modified, entries[m.Path].Times.Modified!.Value.ToUnixTimeSeconds()));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_deleted_file_whose_bytes_still_stand_comes_back_and_is_never_called_sure()
    {
        OutsideVolume made = NtfsBench.Usual();
        using ImageView view = made.Open();
        var deleted = NtfsBench.Open(view).Entries().Where(e => e.Deleted).ToLookup(NtfsBench.PathOf);

        Assert.All(deleted.SelectMany(e => e), e => Assert.NotEqual(Certainty.Sure, e.Certainty));
        var standing = made.Manifest.Where(m => m is { Deleted: true, Proof: "bytes" }).ToList();
        Assert.Contains(standing, m => deleted[m.Path].Any(e => NtfsBench.Digest(e.Content, view) == m.Sha256));
        Assert.All(standing.Where(m => deleted.Contains(m.Path)), m => Assert.Contains(deleted[m.Path], e => NtfsBench.Digest(e.Content, view) == m.Sha256));
    }

    [Fact, Trait("kind", "privileged")]
    public void Hard_links_are_two_entries_with_one_number()
    {
        using ImageView view = NtfsBench.Usual().Open();
        var names = NtfsBench.Open(view).Entries().Where(e => !e.Deleted).ToDictionary(NtfsBench.PathOf);
        Assert.Equal(names["odd/linked.bin"].Number, names["odd/second name.bin"].Number);
        Assert.Equal(names["odd/small linked.txt"].Number, names["odd/sub/other folder.txt"].Number);
        Assert.DoesNotContain(names.Keys, path => path.Contains("LONGNA~1"));
    }

    [Fact, Trait("kind", "privileged")]
    public void Reparse_points_are_links_or_say_where_the_content_is()
    {
        OutsideVolume made = NtfsBench.Usual();
        using ImageView view = made.Open();
        var points = NtfsBench.Open(view).Entries().Where(IsPoint).ToDictionary(e => e.Path.Name);
        foreach (string[] line in File.ReadLines(Path.Combine(made.Folder, "points.tsv")).Select(l => l.Split('\t')))
        {
            Entry entry = points[line[0]];
            if (line[1] == "unreadable")
                Assert.Contains(line[2], Assert.IsType<UnreadableContent>(entry.Content).Why);
            else
                Assert.Equal((line[1] == "link" ? EntryKind.Link : EntryKind.File, line[2]), (entry.Kind, System.Text.Encoding.UTF8.GetString(NtfsBench.Bytes(entry, view))));
        }
    }

    [Fact, Trait("kind", "privileged")]
    public void Label_serial_and_cluster_size_are_those_of_ntfsinfo()
    {
        OutsideVolume made = NtfsBench.Usual();
        using ImageView view = made.Open();
        VolumeFacts facts = NtfsBench.Open(view).Facts;
        string told = File.ReadAllText(Path.Combine(made.Folder, "volume.txt"));
        Assert.Contains($"Volume Name: {facts.Label}", told);
        Assert.Contains($"Cluster Size: {facts.ClusterBytes}", told);
        Assert.Contains("NTFS version 3.1", facts.Notes);
        Assert.Equal("ARBEIT ü", facts.Label);
        Assert.Equal(new ByteRange(0, NtfsBench.VolumeBytes), facts.Place);
    }

    [Fact, Trait("kind", "privileged")]
    public void Usage_counts_as_many_free_clusters_as_ntfsinfo()
    {
        OutsideVolume made = NtfsBench.Usual();
        using ImageView view = made.Open();
        var runs = NtfsBench.Open(view).Usage().ToList();
        string told = File.ReadAllLines(Path.Combine(made.Folder, "volume.txt")).First(line => line.Contains("Free Clusters"));
        long free = runs.Where(run => run.Usage == Usage.Free).Sum(run => run.Place.Length) / 4096;
        Assert.Contains($" {free} (", told);
        Assert.All(runs.Zip(runs.Skip(1)), pair => Assert.True(pair.First.Place.End <= pair.Second.Place.Offset));
    }

    private static bool IsPoint(Entry entry) => entry.Path.Names[0] == "points";

    private static IEnumerable<(long?, long)> Cut(ManifestLine line)
    {
        var extents = new ExtentList(line.Size);
        foreach ((_, long? place, long length) in line.Extents)
            extents.Add(place is long at ? Extent.At(at, length) : Extent.Zeros(length));
        return extents.Finish().Select(e => (e.Kind == ExtentKind.Stored ? e.Offset : (long?)null, e.Length));
    }
}
