using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>Members of pools and sets, which make sense only together with what else belongs to them.</summary>
internal static class PooledKinds
{
    private const int SectorBytes = 512, Page = 4096;

    /// <summary>LVM: a label in one of the first four sectors.</summary>
    /// <remarks>From memory; compared with a physical volume of pvcreate.</remarks>
    public static Recognition? Lvm(PartView part)
    {
        for (int sector = 0; sector < 4; sector++)
        {
            ReadOnlySpan<byte> label = part.At((long)sector * SectorBytes, SectorBytes);
            if (label.Length == 0 || !label.StartsWith("LABELONE"u8) || !label.Slice(24, 8).SequenceEqual("LVM2 001"u8))
                continue;
            return new Recognition("LVM")
            {
                Bytes = BinaryPrimitives.ReadInt64LittleEndian(label[64..]),
                Id = Fields.Text(label.Slice(32, 32)),
                Certainty = BinaryPrimitives.ReadInt64LittleEndian(label[8..]) == sector ? Certainty.Sure : Certainty.Likely,
                Skeleton = [new(0, 1 << 20)],
                Notes = ["a physical volume: its logical volumes may need other drives, too"],
            };
        }

        return null;
    }

    /// <summary>Linux software RAID: a superblock at the start, 4 KiB in, or near the end.</summary>
    /// <remarks>Linux kernel, md_p.h (from memory); no such member could be made here.</remarks>
    public static Recognition? SoftwareRaid(PartView part)
    {
        long nearEnd = ((part.Length / SectorBytes) - 16) / 8 * 8 * SectorBytes;
        foreach ((long at, string version) in ((long, string)[])[(0, "1.1"), (Page, "1.2"), (nearEnd, "1.0")])
        {
            if (Version1(part, at, version) is { } found)
                return found;
        }

        long old = (part.Length / 65_536 * 65_536) - 65_536;
        ReadOnlySpan<byte> super = part.At(old, SectorBytes);
        return super.StartsWith((ReadOnlySpan<byte>)[0xFC, 0x4E, 0x2B, 0xA9]) && BinaryPrimitives.ReadUInt32LittleEndian(super[4..]) == 0
            ? Raid("0.90", BinaryPrimitives.ReadInt32LittleEndian(super[28..]), BinaryPrimitives.ReadUInt32LittleEndian(super[40..]), old)
            : null;
    }

    private static Recognition? Version1(PartView part, long at, string version)
    {
        ReadOnlySpan<byte> super = part.At(at, SectorBytes);
        bool isSuper = super.StartsWith((ReadOnlySpan<byte>)[0xFC, 0x4E, 0x2B, 0xA9]) && BinaryPrimitives.ReadUInt32LittleEndian(super[4..]) == 1;
        return !isSuper ? null : Raid(version, BinaryPrimitives.ReadInt32LittleEndian(super[72..]), BinaryPrimitives.ReadUInt32LittleEndian(super[92..]), at) with
        {
            Label = Fields.Text(super.Slice(32, 32)),
            Id = Fields.Uuid(super[16..]),
        };
    }

    private static Recognition Raid(string version, int level, uint drives, long at) => new("Linux RAID")
    {
        Skeleton = [new(at, Page)],
        Notes = [$"one of {drives} drives of a software RAID, level {level}, superblock {version}: the others are needed unless it is a mirror"],
    };

    /// <summary>The database of dynamic disks, in its own partition or on sector 6.</summary>
    /// <remarks>From memory; no such disk could be made here.</remarks>
    public static Recognition? DynamicDisk(PartView part)
    {
        foreach (long at in (long[])[0, 6 * SectorBytes])
        {
            if (part.At(at, 8).SequenceEqual("PRIVHEAD"u8))
                return new Recognition("dynamic disk") { Skeleton = [new(0, 1 << 20)], Notes = ["its volumes may need other drives, too"] };
        }

        return null;
    }
}
