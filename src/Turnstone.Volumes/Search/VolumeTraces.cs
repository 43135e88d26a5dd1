using System.Buffers.Binary;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;
using Turnstone.Volumes.ExFat;
using Turnstone.Volumes.Fat;

namespace Turnstone.Volumes;

/// <summary>A structure that says where its volume starts.</summary>
/// <param name="Start">First byte of the volume; may lie outside the disk.</param>
/// <param name="FoundAt">Where the structure stands.</param>
/// <param name="What">What it is.</param>
internal readonly record struct VolumeTrace(long Start, long FoundAt, string What);

/// <summary>Finds main structures and copies of them in held bytes, at every 512-byte sector.</summary>
internal static class VolumeTraces
{
    private const int Sector = 512, Chunk = 1 << 20;

    // The longest structure looked at: a superblock of 1024 bytes.
    private const int Longest = 1024;

    public static IEnumerable<VolumeTrace> Find(ISectorView disk, CancellationToken stop)
    {
        var buffer = new byte[Chunk + Longest];
        var found = new List<VolumeTrace>();
        foreach (ByteRange held in Stretches.HeldIn(disk, new ByteRange(0, disk.Length)))
        {
            for (long at = held.Offset; at < held.End; at += Chunk)
            {
                stop.ThrowIfCancellationRequested();
                int length = (int)Math.Min(buffer.Length, held.End - at);
                if (!disk.TryRead(at, buffer.AsSpan(0, length)))
                    continue;
                found.Clear();
                for (int i = 0; i < Math.Min(Chunk, length); i += Sector)
                    Look(buffer.AsSpan(i, Math.Min(Longest, length - i)), at + i, found);
                foreach (VolumeTrace trace in found)
                    yield return trace;
            }
        }
    }

    private static void Look(ReadOnlySpan<byte> bytes, long at, List<VolumeTrace> found)
    {
        if (bytes.Length < Sector)
            return;
        if (bytes[510] == 0x55 && bytes[511] == 0xAA)
            BootSector(bytes, at, found);
        if (bytes.Length >= 1024 && BinaryPrimitives.ReadUInt16LittleEndian(bytes[56..]) == 0xEF53)
            ExtSuperblock(bytes, at, found);
        if (bytes[0] == 'H' && bytes[1] is (byte)'+' or (byte)'X')
            HfsHeader(bytes, at, found);
        if (bytes.Slice(32, 4).SequenceEqual("NXSB"u8))
            ApfsSuperblock(bytes, at, found);
        if (bytes.StartsWith("XFSB"u8))
            found.Add(new VolumeTrace(at, at, "XFS superblock"));
        if (bytes.Slice(64, 8).SequenceEqual("_BHRfS_M"u8))
            found.Add(new VolumeTrace(at - BinaryPrimitives.ReadInt64LittleEndian(bytes[48..]), at, "btrfs superblock"));
        if (bytes.StartsWith("LUKS"u8) && bytes[4] == 0xBA && bytes[5] == 0xBE)
            found.Add(new VolumeTrace(at, at, "LUKS header"));
        if (bytes.Slice(3, 8).SequenceEqual("-FVE-FS-"u8))
            found.Add(new VolumeTrace(at, at, "BitLocker boot sector"));
    }

    private static void BootSector(ReadOnlySpan<byte> bytes, long at, List<VolumeTrace> found)
    {
        if (ExFatBootSector.Read(bytes).OrNone is { } exFat)
        {
            found.Add(new VolumeTrace(at, at, "exFAT boot sector"));
            found.Add(new VolumeTrace(at - ((long)exFat.SectorBytes * ExFatBootSector.BootSectors), at, "copy of an exFAT boot sector"));
        }
        else if (bytes.Slice(3, 8).SequenceEqual("NTFS    "u8))
        {
            found.Add(new VolumeTrace(at, at, "NTFS boot sector"));
            long sectors = BinaryPrimitives.ReadInt64LittleEndian(bytes[0x28..]);
            if (sectors > 0 && sectors <= at / Sector)
                found.Add(new VolumeTrace(at - (sectors * BinaryPrimitives.ReadUInt16LittleEndian(bytes[0x0B..])), at, "copy of an NTFS boot sector"));
        }
        else if (FatBootSector.Read(bytes).OrNone is { } fat)
        {
            found.Add(new VolumeTrace(at, at, "FAT boot sector"));
            if (fat.CopySector > 0)
                found.Add(new VolumeTrace(at - ((long)fat.CopySector * fat.SectorBytes), at, "copy of a FAT boot sector"));
        }
    }

    /// <summary>One in the first block, or one of the checkpoint area, which tells its own place in it.</summary>
    private static void ApfsSuperblock(ReadOnlySpan<byte> bytes, long at, List<VolumeTrace> found)
    {
        found.Add(new VolumeTrace(at, at, "APFS container superblock"));
        uint blockBytes = BinaryPrimitives.ReadUInt32LittleEndian(bytes[36..]), areaBlocks = BinaryPrimitives.ReadUInt32LittleEndian(bytes[104..]);
        ulong area = BinaryPrimitives.ReadUInt64LittleEndian(bytes[112..]);
        if (blockBytes > 65_536 || areaBlocks is 0 or > int.MaxValue || area > int.MaxValue)
            return;
        ulong last = (ulong)BinaryPrimitives.ReadUInt32LittleEndian(bytes[136..]) + BinaryPrimitives.ReadUInt32LittleEndian(bytes[140..]) + areaBlocks - 1;
        found.Add(new VolumeTrace(at - ((long)(area + (last % areaBlocks)) * blockBytes), at, "APFS checkpoint's superblock"));
    }

    private static void ExtSuperblock(ReadOnlySpan<byte> bytes, long at, List<VolumeTrace> found)
    {
        uint log = BinaryPrimitives.ReadUInt32LittleEndian(bytes[0x18..]), perGroup = BinaryPrimitives.ReadUInt32LittleEndian(bytes[0x20..]);
        if (log > 6 || perGroup == 0)
            return;
        int block = 1024 << (int)log, group = BinaryPrimitives.ReadUInt16LittleEndian(bytes[0x5A..]);
        uint first = BinaryPrimitives.ReadUInt32LittleEndian(bytes[0x14..]);
        long start = group == 0 ? at - 1024 : at - (((long)group * perGroup) + Math.Min(first, 1)) * block;
        found.Add(new VolumeTrace(start, at, group == 0 ? "ext superblock" : $"copy of an ext superblock in group {group}"));
    }

    private static void HfsHeader(ReadOnlySpan<byte> bytes, long at, List<VolumeTrace> found)
    {
        uint block = BinaryPrimitives.ReadUInt32BigEndian(bytes[40..]), blocks = BinaryPrimitives.ReadUInt32BigEndian(bytes[44..]);
        if (BinaryPrimitives.ReadUInt16BigEndian(bytes[2..]) is not (4 or 5) || block < 512 || !uint.IsPow2(block))
            return;
        found.Add(new VolumeTrace(at - 1024, at, "HFS+ volume header"));
        found.Add(new VolumeTrace(at + 1024 - ((long)block * blocks), at, "copy of an HFS+ volume header"));
    }
}
