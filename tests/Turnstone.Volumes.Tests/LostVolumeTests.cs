using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Disks of sgdisk with both copies of their table gone; where the volumes start is in the manifest.</summary>
public sealed class LostVolumeTests
{
    private const long MiB = 1 << 20;
    private static readonly ByteRange[] s_tables = [new(0, 17_408), new((72 * MiB) - 16_896, 16_896)];

    [Fact]
    public void Volumes_are_found_by_their_own_structures()
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "gpt").Open();
        var holed = new HoledView(image, s_tables);
        Disk disk = Disk.Read(holed);
        IReadOnlyList<LostVolume> lost = LostVolumes.Search(holed, disk);
        Assert.Equal(["at-34603008 FAT32"], lost.Select(l => $"{l.Volume.Facts.Name} {l.Volume.Facts.Kind}"));
        Assert.True(lost[0].Consistency > 0.8, $"{lost[0].Consistency}");
    }

    [Fact]
    public void Without_their_boot_sectors_volumes_are_found_by_the_copies()
    {
        OutsideVolume outside = OutsideVolume.Make("make-partitions.sh", "gpt");
        using ImageView image = outside.Open();
        var holed = new HoledView(image, [.. s_tables, new(MiB, 512), new(33 * MiB, 512)]);
        var nothing = new Disk("none", [], [], [], []);
        LostVolume[] lost = [.. LostVolumes.Search(holed, nothing).OrderBy(l => l.Volume.Facts.Place.Offset)];
        Assert.Equal(["exFAT", "FAT32"], lost.Select(l => l.Volume.Facts.Kind));
        Assert.All(lost, l => Assert.Equal(Origin.Copy, l.Volume.Facts.Origin));
        foreach (LostVolume l in lost)
            ManifestChecks.LiveFilesEqual(outside, holed, l.Volume.Entries(), l.Volume.Facts.Place.Offset);
    }

    [Fact]
    public void A_boot_sector_alone_in_a_file_scores_low()
    {
        using ImageView fat = OutsideVolume.Make("make-fat.sh", "32").Open();
        var sector = new byte[512];
        Assert.True(fat.TryRead(0, sector));
        var disk = new PatchedView(new MemoryView(new byte[80 * MiB])).With(5 * MiB, sector);
        LostVolume lost = Assert.Single(LostVolumes.Search(disk, Disk.Read(disk)));
        Assert.True(lost.Consistency < 0.5, $"{lost.Consistency}: {string.Join("; ", lost.Evidence)}");
    }

    [Fact]
    public void The_copy_of_an_older_boot_sector_does_not_hide_the_volume_of_today()
    {
        using ImageView exFat = OutsideVolume.Make("make-exfat.sh", "512", "4096").Open();
        using ImageView fat = OutsideVolume.Make("make-fat.sh", "32").Open();
        var older = new byte[12 * 512];
        Assert.True(exFat.TryRead(older.Length, older));
        Assert.Equal("FAT32", Disk.Read(new PatchedView(fat).With(older.Length, older)).Volumes[0].Facts.Kind);
        Assert.Equal("FAT32", Disk.Read(new PatchedView(fat).With(older.Length, older).With(0, new byte[512])).Volumes[0].Facts.Kind);
    }

    [Fact]
    public void The_search_can_be_ended()
    {
        using var stop = new CancellationTokenSource();
        stop.Cancel();
        var disk = new MemoryView(new byte[4096]);
        Assert.Throws<OperationCanceledException>(() => LostVolumes.Search(disk, Disk.Read(disk), stop.Token));
    }
}
