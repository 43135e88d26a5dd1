using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>File systems that are recognised only.</summary>
internal static class FileSystemKinds
{
    private const int PageBytes = 4096;

    /// <summary>XFS: every allocation group starts with a copy of the superblock.</summary>
    /// <remarks>XFS Algorithms &amp; Data Structures, superblocks (from memory); the fields were compared with a volume of mkfs.xfs.</remarks>
    public static Recognition? Xfs(PartView part)
    {
        ReadOnlySpan<byte> super = part.At(0, 512);
        if (!super.StartsWith("XFSB"u8))
            return null;
        uint block = BinaryPrimitives.ReadUInt32BigEndian(super[4..]);
        ulong blocks = BinaryPrimitives.ReadUInt64BigEndian(super[8..]);
        uint groupBlocks = BinaryPrimitives.ReadUInt32BigEndian(super[84..]);
        if (block is < 512 or > 65_536 || !uint.IsPow2(block) || blocks is 0 or > long.MaxValue / 65_536)
            return null;
        long second = (long)groupBlocks * block;
        return new Recognition("XFS")
        {
            Bytes = (long)blocks * block,
            Label = Fields.Text(super.Slice(108, 12)),
            Id = Fields.Uuid(super[32..]),
            ClusterBytes = (int)block,
            Certainty = part.At(second, 512) is var copy && copy.StartsWith("XFSB"u8) && copy.Slice(32, 16).SequenceEqual(super.Slice(32, 16)) ? Certainty.Sure : Certainty.Likely,
            Skeleton = [new(0, PageBytes), new(second, PageBytes)],
        };
    }

    /// <summary>btrfs: superblocks at 64 KiB and 64 MiB.</summary>
    /// <remarks>btrfs on-disk format documentation (from memory); the fields were compared with a volume of mkfs.btrfs.</remarks>
    public static Recognition? Btrfs(PartView part)
    {
        (ByteRange first, ByteRange second) = (new(65_536, PageBytes), new(64L << 20, PageBytes));
        Recognition? main = BtrfsAt(part, first.Offset), copy = BtrfsAt(part, second.Offset);
        if ((main ?? copy) is not { } found)
            return null;
        return found with
        {
            Origin = main is null ? Origin.Copy : Origin.Table,
            Certainty = main is not null && copy is not null && main.Id == copy.Id ? Certainty.Sure : Certainty.Likely,
            Skeleton = [first, second],
        };
    }

    private static Recognition? BtrfsAt(PartView part, long at)
    {
        ReadOnlySpan<byte> super = part.At(at, PageBytes);
        bool isSuper = super.Length > 0 && super.Slice(64, 8).SequenceEqual("_BHRfS_M"u8) && BinaryPrimitives.ReadInt64LittleEndian(super[48..]) == at;
        return !isSuper ? null : new Recognition("btrfs")
        {
            Bytes = BinaryPrimitives.ReadInt64LittleEndian(super[112..]),
            Label = Fields.Text(super.Slice(299, 256)),
            Id = Fields.Uuid(super[32..]),
            ClusterBytes = (int)Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(super[144..]), 65_536),
        };
    }

    /// <summary>ReFS: boot sector with its name and the mark of its recognition structure.</summary>
    /// <remarks>From memory; no such volume could be made here.</remarks>
    public static Recognition? Refs(PartView part)
    {
        ReadOnlySpan<byte> boot = part.At(0, 512);
        if (boot.Length == 0 || !boot.Slice(3, 8).SequenceEqual("ReFS\0\0\0\0"u8))
            return null;
        bool isMarked = boot.Slice(16, 4).SequenceEqual("FSRS"u8);
        long sectors = BinaryPrimitives.ReadInt64LittleEndian(boot[24..]);
        uint sectorBytes = BinaryPrimitives.ReadUInt32LittleEndian(boot[32..]), clusterSectors = BinaryPrimitives.ReadUInt32LittleEndian(boot[36..]);
        bool isSized = sectorBytes is >= 512 and <= 4096 && uint.IsPow2(sectorBytes) && sectors > 0 && sectors < long.MaxValue / 4096;
        return new Recognition("ReFS")
        {
            Bytes = isSized ? sectors * sectorBytes : 0,
            ClusterBytes = isSized && clusterSectors <= 128 ? (int)(sectorBytes * clusterSectors) : 0,
            Certainty = isMarked && isSized ? Certainty.Sure : Certainty.Likely,
            Skeleton = [new(0, PageBytes), ByteRange.Between(Math.Max(0, part.Length - PageBytes), part.Length)],
        };
    }

    /// <summary>Linux swap: its mark ends the first page, which has 4 KiB on common machines.</summary>
    public static Recognition? Swap(PartView part)
    {
        ReadOnlySpan<byte> page = part.At(0, PageBytes);
        if (page.Length == 0 || !page[(PageBytes - 10)..].SequenceEqual("SWAPSPACE2"u8))
            return null;
        return new Recognition("Linux swap")
        {
            Bytes = (BinaryPrimitives.ReadUInt32LittleEndian(page[1028..]) + 1L) * PageBytes,
            Id = Fields.Uuid(page[1036..]),
            Label = Fields.Text(page.Slice(1052, 16)),
            Certainty = Certainty.Sure,
        };
    }
}
