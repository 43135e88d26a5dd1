using System.IO.Hashing;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Tables written by sfdisk and sgdisk; 'sgdisk -v' called their checksums right.</summary>
public sealed class PartitionTests
{
    private const long MiB = 1 << 20;

    [Fact]
    public void Crc32_has_the_published_check_value() => // the check value of CRC-32/ISO-HDLC for "123456789" in the usual catalogues (from memory)
        Assert.Equal(0xCBF43926, Crc32.HashToUInt32("123456789"u8));

    [Theory]
    [InlineData("mbr", 512, "MBR", "p1@1048576 FAT16, p6@29360128 exFAT")]
    [InlineData("gpt", 512, "GPT", "p1@1048576 exFAT, p2@34603008 FAT32")]
    [InlineData("hybrid", 512, "GPT", "p1@1048576 exFAT, p2@34603008 FAT32")]
    [InlineData("gpt-4k", 4096, "GPT", "p1@1048576 exFAT, p2@34603008 exFAT")]
    [InlineData("gpt-4k", 512, "GPT", "p1@1048576 exFAT, p2@34603008 exFAT")]
    [InlineData("gpt", 4096, "GPT", "p1@1048576 exFAT, p2@34603008 FAT32")]
    [InlineData("mbr-4k", 4096, "MBR", "p1@1048576 exFAT, p2@34603008 exFAT")]
    [InlineData("mbr-4k", 512, "MBR", "p1@1048576 exFAT, p2@34603008 exFAT")]
    [InlineData("mbr", 4096, "MBR", "p1@1048576 FAT16, p6@29360128 exFAT")]
    public void Every_table_leads_to_its_volumes_and_their_files(string kind, int sectorBytes, string table, string volumes)
    {
        OutsideVolume outside = OutsideVolume.Make("make-partitions.sh", kind);
        using ImageView image = outside.Open(sectorBytes);
        Disk disk = Disk.Read(image);
        Assert.Equal(table, disk.Table);
        Assert.Equal(volumes, Volumes(disk));
        foreach (Volume volume in disk.Volumes)
            ManifestChecks.LiveFilesEqual(outside, image, volume.Entries(), volume.Facts.Place.Offset);
        bool wasBridged = sectorBytes == 512 == kind.EndsWith("-4k", StringComparison.Ordinal);
        Assert.Equal(wasBridged, disk.Notes.Any(note => note.Contains("bridge")));
    }

    [Fact]
    public void A_hybrid_table_is_named()
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "hybrid").Open();
        Disk disk = Disk.Read(image);
        Assert.Contains(disk.Notes, note => note.Contains("hybrid"));
        Assert.Equal(["p1", "p2"], disk.Partitions.Select(p => p.Name));
        Assert.Equal(["photos", "Grüße, über alles"], disk.Partitions.Select(p => p.Label!));
    }

    [Theory]
    [InlineData(0, 17_408, Origin.Copy)]
    [InlineData(512, 512, Origin.Copy)]
    [InlineData(1024, 16_384, Origin.Copy)]
    [InlineData((72 * MiB) - 16_896, 16_896, Origin.Table)]
    public void One_copy_of_a_guid_table_is_enough(long hole, long length, Origin origin)
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "gpt").Open();
        Disk disk = Disk.Read(new HoledView(image, [new ByteRange(hole, length)]));
        Assert.Equal("p1@1048576 exFAT, p2@34603008 FAT32", Volumes(disk));
        Assert.All(disk.Partitions, p => Assert.Equal(origin, p.Origin));
        Assert.Contains(disk.Notes, note => note.Contains("not held"));
    }

    [Theory]
    [InlineData(512 + 56)] // in the header: the disk's GUID
    [InlineData(1024 + 32)] // in the entries: the first partition's start
    public void A_damaged_guid_table_gives_way_to_its_copy(long at)
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "gpt").Open();
        Disk disk = Disk.Read(new PatchedView(image).With(at, 0x5A));
        Assert.Equal("p1@1048576 exFAT, p2@34603008 FAT32", Volumes(disk));
        Assert.All(disk.Partitions, p => Assert.Equal(Origin.Copy, p.Origin));
    }

    [Fact]
    public void With_both_tables_gone_the_first_volume_is_found_where_tables_put_it()
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "gpt").Open();
        Disk disk = Disk.Read(new HoledView(image, [new ByteRange(0, 17_408), new ByteRange((72 * MiB) - 16_896, 16_896)]));
        Assert.Equal("at-1048576@1048576 exFAT", Volumes(disk));
        Assert.Equal("none", disk.Table);
        Assert.Equal(Origin.Scan, disk.Partitions[0].Origin);
    }

    [Fact]
    public void A_chain_of_logical_partitions_that_comes_back_ends()
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "mbr").Open();
        // The second entry of the first link (sector 51200) points to itself: 0 sectors behind the start of the extended partition.
        var looped = new PatchedView(image).With((51_200 * 512) + 446 + 16 + 8, 0, 0, 0, 0);
        Disk disk = Disk.Read(looped);
        Assert.Contains(disk.Notes, note => note.Contains("comes back"));
        Assert.Equal(["p1", "p5"], disk.Partitions.Select(p => p.Name));
    }

    [Fact]
    public void A_partition_past_the_end_is_listed_and_named()
    {
        using ImageView image = OutsideVolume.Make("make-partitions.sh", "mbr").Open();
        Disk disk = Disk.Read(new PatchedView(image).With(446 + 12, 0xFF, 0xFF, 0xFF, 0x7F));
        Assert.Contains(disk.Notes, note => note.StartsWith("p1 reaches", StringComparison.Ordinal));
        Assert.Contains(disk.Notes, note => note.Contains("overlap"));
        Assert.Equal(2, disk.Volumes.Count);
    }

    [Fact]
    public void Any_bytes_at_the_start_of_a_disk_get_an_answer() =>
        Gen.Byte.Array[0, 4096].Sample(bytes => Disk.Read(new MemoryView(bytes)) is not null);

    [Fact]
    public void A_table_of_random_entries_gets_an_answer() =>
        Gen.Byte.Array[64].Sample(entries =>
        {
            var bytes = new byte[8192];
            entries.CopyTo(bytes, 446);
            for (int i = 446; i < 510; i += 16)
                bytes[i] = 0;
            (bytes[510], bytes[511]) = (0x55, 0xAA);
            Disk disk = Disk.Read(new MemoryView(bytes));
            return disk.Partitions.All(p => p.Name.Length > 0) && disk.Skeleton.All(range => !range.IsEmpty);
        });

    private static string Volumes(Disk disk) =>
        string.Join(", ", disk.Volumes.Select(v => $"{v.Facts.Name}@{v.Facts.Place.Offset} {v.Facts.Kind}"));
}
