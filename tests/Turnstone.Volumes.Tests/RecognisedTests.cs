using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Kinds that are only recognised: made by their own tools where those run here, else written from memory of the published layouts.</summary>
public sealed class RecognisedTests
{
    private const string Uuid = "11111111-2222-4333-8444-555555555555";

    [Theory]
    [InlineData("xfs", "XFS", "XVOL", Uuid, 320, Certainty.Sure)]
    [InlineData("btrfs", "btrfs", "BVOL", Uuid, 128, Certainty.Sure)]
    [InlineData("luks1", "LUKS1", null, Uuid, 32, Certainty.Likely)]
    [InlineData("luks2", "LUKS2", "VAULT", Uuid, 32, Certainty.Sure)]
    [InlineData("lvm", "LVM", null, null, 32, Certainty.Sure)]
    [InlineData("swap", "Linux swap", "SWAPVOL", Uuid, 32, Certainty.Sure)]
    public void A_volume_of_its_own_tool_is_named_and_sized(string script, string kind, string? label, string? id, int mebibytes, Certainty certainty)
    {
        using ImageView image = OutsideVolume.Make("make-recognised.sh", script).Open();
        Volume volume = Assert.Single(Disk.Read(image).Volumes);
        Assert.Equal((kind, label, certainty), (volume.Facts.Kind, volume.Facts.Label, volume.Facts.Certainty));
        Assert.Equal(new ByteRange(0, (long)mebibytes << 20), volume.Facts.Place);
        Assert.True(id is null || id == volume.Facts.Id, volume.Facts.Id);
        Assert.False(volume.IsReadable);
        Assert.Empty(volume.Entries());
    }

    [Theory]
    [InlineData("luks2")]
    [InlineData("btrfs")]
    public void The_copy_of_a_header_is_enough(string script)
    {
        using ImageView image = OutsideVolume.Make("make-recognised.sh", script).Open();
        Volume volume = Assert.Single(Disk.Read(new HoledView(image, [new ByteRange(0, 16_384), new ByteRange(65_536, 4096)])).Volumes);
        Assert.Equal(Origin.Copy, volume.Facts.Origin);
    }

    [Fact]
    public void Encrypted_kinds_are_named_before_the_volume_that_they_pose_as()
    {
        // The portable form of BitLocker starts with a small FAT32 that asks for the password. Layout from memory.
        using ImageView fat32 = OutsideVolume.Make("make-fat.sh", "32").Open();
        byte[] guid = [0x3B, 0xD6, 0x67, 0x49, 0x29, 0x2E, 0xD8, 0x4A, 0x83, 0x99, 0xF6, 0xA3, 0x39, 0xE3, 0xD0, 0x01];
        Assert.Equal("BitLocker", Disk.Read(new PatchedView(fat32).With(424, guid)).Volumes[0].Facts.Kind);
        Assert.Equal("BitLocker", Disk.Read(new PatchedView(new MemoryView(new byte[1 << 20])).With(3, "-FVE-FS-"u8.ToArray())).Volumes[0].Facts.Kind);
    }

    [Theory]
    [InlineData(0, "1.1")]
    [InlineData(4096, "1.2")]
    [InlineData((1 << 20) - 8192, "1.0")]
    public void A_member_of_a_software_raid_is_named_with_its_level(int at, string version)
    {
        var super = new byte[512]; // Linux kernel, md_p.h, from memory
        ((byte[])[0xFC, 0x4E, 0x2B, 0xA9, 1]).CopyTo(super, 0);
        "shelf:5"u8.CopyTo(super.AsSpan(32));
        BinaryPrimitives.WriteInt32LittleEndian(super.AsSpan(72), 5);
        BinaryPrimitives.WriteInt32LittleEndian(super.AsSpan(92), 4);
        VolumeFacts facts = Disk.Read(new PatchedView(new MemoryView(new byte[1 << 20])).With(at, super)).Volumes[0].Facts;
        Assert.Equal(("Linux RAID", "shelf:5"), (facts.Kind, facts.Label));
        Assert.Contains(facts.Notes, note => note.Contains($"4 drives of a software RAID, level 5, superblock {version}"));
    }

    [Theory]
    [InlineData(3, "ReFS\0\0\0\0", "ReFS")]
    [InlineData(3072, "PRIVHEAD", "dynamic disk")]
    public void Other_kinds_are_named_by_their_signature(int at, string signature, string kind) =>
        Assert.Equal(kind, Disk.Read(new PatchedView(new MemoryView(new byte[1 << 20])).With(at, System.Text.Encoding.ASCII.GetBytes(signature))).Volumes[0].Facts.Kind);

    [Fact]
    public void Flat_bytes_without_structure_look_encrypted()
    {
        var bytes = new byte[4 << 20];
        new Random(7).NextBytes(bytes);
        Volume volume = Assert.Single(Disk.Read(new MemoryView(bytes)).Volumes);
        Assert.Equal(("encrypted?", Certainty.Guessed), (volume.Facts.Kind, volume.Facts.Certainty));
        Assert.Contains(volume.Facts.Notes, note => note.Contains("bridge board"));
    }

    [Fact]
    public void Compressed_bytes_without_structure_do_not()
    {
        using var packed = new MemoryStream();
        using (var deflate = new System.IO.Compression.DeflateStream(packed, System.IO.Compression.CompressionLevel.Optimal, leaveOpen: true))
        {
            var random = new Random(7);
            for (int line = 0; line < 400_000; line++)
                deflate.Write(System.Text.Encoding.ASCII.GetBytes($"row {line} of the ledger: {random.Next(100_000)} and {random.NextDouble()}\n"));
        }

        Assert.True(packed.Length > 2 << 20);
        Assert.Empty(Disk.Read(new MemoryView(packed.ToArray())).Volumes);
    }

    [Fact]
    public void An_empty_disk_does_not() =>
        Assert.Empty(Disk.Read(new MemoryView(new byte[2 << 20])).Volumes);
}
