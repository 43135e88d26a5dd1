using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>A volume that xorriso wrote, and volumes on disks that held something else before.</summary>
public class OtherAuthors
{
    [Fact]
    public void Every_file_that_xorriso_wrote_comes_back()
    {
        OutsideVolume outside = OutsideVolume.Make("make-hfsplus-xorriso.sh");
        using ImageView disk = outside.Open();
        var entries = Prebuilt.Open(disk, ByteRange.Between(outside.Manifest[0].VolumeOffset, disk.Length))!.Entries().ToDictionary(Prebuilt.PathOf);

        Assert.Equal(outside.Manifest.Select(l => l.Path).Order(StringComparer.Ordinal), entries.Keys.Order(StringComparer.Ordinal));
        Assert.All(outside.LiveFiles, l => Assert.Equal((l.Path, l.Sha256, l.Modified, Certainty.Sure),
            (l.Path, Prebuilt.Digest(entries[l.Path], disk), entries[l.Path].Times.Modified?.ToUnixTimeSeconds(), entries[l.Path].Certainty)));
    }

    [Fact]
    public void The_disk_finds_the_volume_by_itself() =>
        Assert.Equal("HFS+", Assert.Single(Disk.Read(Prebuilt.View("hfsplus")).Volumes).Facts.Kind);

    [Fact]
    public void What_a_former_FAT32_left_in_the_first_block_is_not_taken_for_the_volume()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        FormerBootCopy().CopyTo(bytes, 6 * 512);

        Assert.NotNull(Turnstone.Volumes.Fat.FatBootSector.Read(bytes.AsSpan(6 * 512, 512)).OrNone);
        Assert.Equal("HFS+", Assert.Single(Disk.Read(new MemoryView(bytes)).Volumes).Facts.Kind);
    }

    [Fact]
    public void What_stands_where_the_main_header_was_makes_its_copy_a_guess()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        bytes.AsSpan(1024, 512).Fill(0x5A);

        VolumeFacts facts = Prebuilt.Open(new MemoryView(bytes))!.Facts;

        Assert.Equal((Origin.Copy, Certainty.Guessed), (facts.Origin, facts.Certainty));
        Assert.Contains("main volume header damaged at byte 0: signature 5A5A; its copy is used", facts.Notes);
    }

    [Fact]
    public void A_copy_at_the_end_of_a_volume_that_is_something_else_now_is_not_taken_for_it()
    {
        byte[] bytes = new byte[16 << 20];
        FormerBootCopy().CopyTo(bytes, 0);
        Prebuilt.Bytes("hfsplus").AsSpan(^1024..).CopyTo(bytes.AsSpan(bytes.Length - 1024));
        bytes.AsSpan(1024, 512).Fill(0x5A);

        Assert.Null(Prebuilt.Open(new MemoryView(bytes)));
        Assert.Equal("FAT32", Assert.Single(Disk.Read(new MemoryView(bytes)).Volumes).Facts.Kind);
    }

    /// <summary>A FAT32 boot sector; Microsoft, FAT: General Overview of On-Disk Format, 1.03, 2000 (from memory).</summary>
    private static byte[] FormerBootCopy()
    {
        byte[] sector = new byte[512];
        (sector[0], sector[1], sector[2], sector[13], sector[14], sector[16], sector[21]) = (0xEB, 0x58, 0x90, 8, 32, 2, 0xF8);
        BinaryPrimitives.WriteUInt16LittleEndian(sector.AsSpan(11), 512);
        BinaryPrimitives.WriteUInt32LittleEndian(sector.AsSpan(32), 800_000);
        BinaryPrimitives.WriteUInt32LittleEndian(sector.AsSpan(36), 800);
        (sector[44], sector[48], sector[50], sector[510], sector[511]) = (2, 1, 6, 0x55, 0xAA);
        return sector;
    }
}
