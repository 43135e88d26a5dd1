using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>FAT and exFAT volumes made by dosfstools, mtools, exfatprogs and exfat-fuse, against the manifest read back through them.</summary>
public sealed class ClusterVolumeTests
{
    public static TheoryData<string, string[], string> Made => new()
    {
        { "make-exfat.sh", ["512", "4096"], "exFAT" },
        { "make-exfat.sh", ["4096", "4096"], "exFAT" },
        { "make-fat.sh", ["12"], "FAT12" },
        { "make-fat.sh", ["16"], "FAT16" },
        { "make-fat.sh", ["32"], "FAT32" },
        { "make-fat.sh", ["16", "4096"], "FAT16" },
        { "make-fat.sh", ["32", "4096"], "FAT32" },
    };

    [Theory]
    [MemberData(nameof(Made))]
    public void Every_live_file_has_the_manifests_content_and_place(string script, string[] arguments, string kind)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        Volume volume = Assert.Single(Disk.Read(image).Volumes);
        Assert.Equal(kind, volume.Facts.Kind);
        Assert.Equal(Certainty.Sure, volume.Facts.Certainty);
        Assert.Equal(kind == "exFAT" ? "FIELD-REC" : "FIELD REC", volume.Facts.Label);
        ManifestChecks.LiveFilesEqual(outside, image, volume.Entries());
    }

    [Theory]
    [MemberData(nameof(Made))]
    public void Deleted_files_that_still_stand_come_out(string script, string[] arguments, string kind)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        Entry[] entries = [.. Disk.Read(image).Volumes[0].Entries()];
        int standing = outside.Manifest.Count(line => line is { Deleted: true, Type: "file", Proof: "bytes" });
        int found = ManifestChecks.DeletedFound(outside, image, entries);
        TestContext.Current.TestOutputHelper?.WriteLine($"{kind}: {found} of {standing}");
        Assert.True(found >= standing * 9 / 10, $"{found} of {standing} deleted files came out");
        Assert.DoesNotContain(entries, entry => entry is { Deleted: true, Certainty: Certainty.Sure });
    }

    [Theory]
    [MemberData(nameof(Made))]
    public void The_skeleton_alone_gives_the_full_list(string script, string[] arguments, string kind)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        HoledView skeleton = ManifestChecks.SkeletonOnly(image);
        IEnumerable<string> Listed(ISectorView view) => Disk.Read(view).Volumes[0].Entries()
            .Select(e => $"{e.Path} {e.Kind} {e.Size} {e.Deleted} {e.Certainty} {string.Join(' ', e.Content?.Extents ?? [])}");
        long held = image.Length - skeleton.Missing(new ByteRange(0, image.Length)).Sum(hole => hole.Length);
        TestContext.Current.TestOutputHelper?.WriteLine($"{kind}: skeleton {held} of {image.Length} bytes");
        Assert.Equal(Listed(image), Listed(skeleton));
        Assert.True(held < image.Length / 10);
    }

    [Theory]
    [MemberData(nameof(Made))]
    public void Holes_in_content_alone_cost_only_the_files_that_they_hit(string script, string[] arguments, string kind)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        var content = outside.LiveFiles.SelectMany(line => ManifestChecks.Extents(line)).ToArray();
        var random = new Random(5);
        ByteRange[] holes = [.. content.Where(_ => random.Next(10) == 0).Select(e => new ByteRange(e.Offset + random.NextInt64(e.Length), 1))];
        var holed = new HoledView(image, holes);
        Dictionary<string, Entry> live = Disk.Read(holed).Volumes[0].Entries().Where(e => !e.Deleted).ToDictionary(e => e.Path.ToString());
        Assert.NotEmpty(kind);
        foreach (ManifestLine line in outside.LiveFiles)
        {
            ByteRange[] hit = [.. ManifestChecks.Extents(line).SelectMany(e => holed.Missing(e.Place))];
            Assert.Equal(hit.Sum(h => h.Length), live[line.Path].Content!.Missing(holed).Sum(m => m.Length));
            Assert.Equal(Certainty.Sure, live[line.Path].Certainty);
        }
    }

    [Theory]
    [MemberData(nameof(Made))]
    public void Through_random_holes_nothing_is_invented(string script, string[] arguments, string kind)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        Assert.NotEmpty(kind);
        for (int seed = 0; seed < 12; seed++)
        {
            var holed = new HoledView(image, RandomHoles.Of(image.Length, new Random(seed), share: Math.Pow(10, -3 + (seed / 12.0 * 2.5))));
            foreach (Volume volume in Disk.Read(holed).Volumes)
                ManifestChecks.NothingInvented(outside, holed, volume.Entries());
        }
    }
}

/// <summary>Holes of a failing drive: single sectors to stretches of a few hundred.</summary>
internal static class RandomHoles
{
    public static IEnumerable<ByteRange> Of(long length, Random random, double share)
    {
        long left = (long)(length * share);
        while (left > 0)
        {
            long hole = 512L << random.Next(0, 9);
            yield return new ByteRange(random.NextInt64(length - hole), hole);
            left -= hole;
        }
    }
}
