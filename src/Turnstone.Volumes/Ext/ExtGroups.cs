using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>What a descriptor says of one group.</summary>
/// <param name="BlockBitmap">Block of its block bitmap.</param>
/// <param name="InodeBitmap">Block of its inode bitmap.</param>
/// <param name="InodeTable">First block of its inodes.</param>
/// <param name="InodesUsed">Inodes from the table's start that may ever have been used.</param>
/// <param name="IsBlockBitmapBlank">Whether the block bitmap was never written: all that is not the file system's own is free.</param>
/// <param name="IsInodeTableBlank">Whether no inode of the group was ever used.</param>
/// <param name="BlockBitmapSum">Checksum of the block bitmap; null where none is kept or the descriptor is an old copy.</param>
/// <param name="Trust">How far this can be relied on.</param>
internal readonly record struct ExtGroup(
    long BlockBitmap, long InodeBitmap, long InodeTable, int InodesUsed, bool IsBlockBitmapBlank, bool IsInodeTableBlank, BitmapSum? BlockBitmapSum, Trust Trust);

/// <summary>Checksum of a bitmap as far as the descriptor has room for it.</summary>
internal readonly record struct BitmapSum(uint Value, uint Mask)
{
    public bool Fits(uint sum) => (sum & Mask) == Value;
}

/// <summary>Finds the descriptors of a volume: the first table, its copies, or the usual places where neither is held.</summary>
/// <remarks>Layout: Linux kernel 6.1 documentation, filesystems/ext4, 'Block Group Descriptors'.</remarks>
internal sealed class ExtGroups(ExtBlocks blocks, ExtSuperblock super)
{
    private const int BlockBitmapLow = 0x0, InodeBitmapLow = 0x4, InodeTableLow = 0x8, FlagsAt = 0x12, UnusedLow = 0x1C, Checksum = 0x1E;
    private const int BlockBitmapHigh = 0x20, InodeBitmapHigh = 0x24, InodeTableHigh = 0x28, UnusedHigh = 0x32, ShortSize = 32;
    private const int BlockBitmapSumLow = 0x18, BlockBitmapSumHigh = 0x38;
    private const int InodesBlank = 1, BlocksBlank = 2;

    /// <summary>Inodes at the start of a table that must speak for a computed place; the first table's own are few.</summary>
    private const int WitnessesLookedAt = 64;

    /// <summary>Descriptors kept in memory: a volume may claim any number of groups.</summary>
    private const int GroupsKept = 1 << 16, TablesKept = 1 << 10;

    private readonly Dictionary<long, HeldBytes> _tables = [];
    private readonly Dictionary<long, ExtGroup?> _found = [];

    /// <summary>Groups of which a part lies in what the disk can hold.</summary>
    public long Count => Math.Min(super.Groups, (blocks.Part.Length / ((long)super.BlocksPerGroup * super.BlockSize)) + 1);

    /// <summary>What is known of a group; null where no descriptor is held and nothing confirms the usual places.</summary>
    public ExtGroup? Find(long group)
    {
        if (_found.TryGetValue(group, out ExtGroup? found))
            return found;
        if (_found.Count == GroupsKept)
            _found.Clear();
        _found.Add(group, found = Look(group));
        return found;
    }

    private ExtGroup? Look(long group)
    {
        ExtGroup? doubtful = null;
        bool first = true;
        foreach (long place in super.DescriptorPlaces(group / super.DescriptorsPerBlock))
        {
            if (Read(place, group, first) is { } read)
            {
                if (read.Trust == Trust.Full)
                    return read;
                doubtful ??= read;
            }

            first = false;
        }

        return doubtful is { } some && IsWitnessed(group, some.InodeTable) ? some : Computed(group) ?? doubtful;
    }

    private ExtGroup? Read(long place, long group, bool isFirst)
    {
        int at = (int)(group % super.DescriptorsPerBlock) * super.DescriptorSize;
        HeldBytes table = TableAt(place);
        return table.Holds(at, super.DescriptorSize) ? Take(table.Data.AsSpan(at, super.DescriptorSize), group, isFirst) : null;
    }

    private HeldBytes TableAt(long place)
    {
        if (_tables.TryGetValue(place, out HeldBytes? table))
            return table;
        if (_tables.Count == TablesKept)
            _tables.Clear();
        _tables.Add(place, table = blocks.Contains(place, 1) ? blocks.Read(place, 1) : new HeldBytes([], []));
        return table;
    }

    private ExtGroup? Take(ReadOnlySpan<byte> d, long group, bool isFirst)
    {
        bool wide = d.Length > ShortSize;
        long blockBitmap = U32(d, BlockBitmapLow) + (wide ? U32(d, BlockBitmapHigh) << 32 : 0);
        long inodeBitmap = U32(d, InodeBitmapLow) + (wide ? U32(d, InodeBitmapHigh) << 32 : 0);
        long table = U32(d, InodeTableLow) + (wide ? U32(d, InodeTableHigh) << 32 : 0);
        if (!blocks.Contains(blockBitmap, 1) || !blocks.Contains(inodeBitmap, 1) || !blocks.Contains(table, super.TableBlocks()))
            return null;
        bool fits = super.HasDescriptorSums ? Sum(d, group) == U16(d, Checksum) : IsAtHome(group, blockBitmap, inodeBitmap, table);

        // The copies are written once by mkfs: places hold, but what was used since then stands only in the first table.
        bool counts = isFirst && fits && super.HasDescriptorSums;
        int unused = counts ? Math.Min(U16(d, UnusedLow) + (wide ? U16(d, UnusedHigh) << 16 : 0), super.InodesPerGroup) : 0;
        int flags = counts ? U16(d, FlagsAt) : 0;
        return new ExtGroup(blockBitmap, inodeBitmap, table, super.InodesPerGroup - Math.Max(0, unused),
            (flags & BlocksBlank) != 0, (flags & InodesBlank) != 0, counts && super.HasMetadataSums ? BlockSum(d) : null, fits ? Trust.Full : Trust.Weak);
    }

    /// <summary>Without sums and flexible groups, whether the tables lie in their own group: the only thing that speaks for a descriptor.</summary>
    private bool IsAtHome(long group, long blockBitmap, long inodeBitmap, long table)
    {
        long first = super.FirstBlock(group), end = first + super.BlocksPerGroup;
        return super.Incompatible.HasFlag(Incompatible.FlexGroups)
            || (Math.Min(blockBitmap, Math.Min(inodeBitmap, table)) >= first && Math.Max(blockBitmap, Math.Max(inodeBitmap, table + super.TableBlocks() - 1)) < end);
    }

    private static BitmapSum BlockSum(ReadOnlySpan<byte> d) => d.Length > BlockBitmapSumHigh
        ? new BitmapSum((uint)(U16(d, BlockBitmapSumLow) | (U16(d, BlockBitmapSumHigh) << 16)), uint.MaxValue)
        : new BitmapSum((uint)U16(d, BlockBitmapSumLow), 0xFFFF);

    private int Sum(ReadOnlySpan<byte> d, long group)
    {
        if (!super.HasMetadataSums)
        {
            Span<byte> number = stackalloc byte[sizeof(uint)];
            BinaryPrimitives.WriteUInt32LittleEndian(number, (uint)group);
            ushort start = ExtSums.Crc16(ExtSums.Crc16(0xFFFF, super.UuidBytes.Span), number);
            ushort small = ExtSums.Crc16(start, d[..Checksum]);
            return d.Length > ShortSize ? ExtSums.Crc16(small, d[ShortSize..]) : small;
        }

        uint sum = ExtSums.Crc32C(ExtSums.Crc32C(super.SumSeed, (uint)group), d[..Checksum]);
        return (int)(ExtSums.Crc32C(ExtSums.Crc32C(sum, [0, 0]), d[(Checksum + 2)..]) & 0xFFFF);
    }

    /// <summary>The usual place that is confirmed by what stands there; null where none is.</summary>
    private ExtGroup? Computed(long group) => Usual(group).Select(usual => (ExtGroup?)usual).FirstOrDefault(usual => IsWitnessed(group, usual!.Value.InodeTable));

    /// <summary>Where mkfs usually puts a group's tables, as far as that lies in the volume; nothing confirms it.</summary>
    public IEnumerable<ExtGroup> Usual(long group) => super.UsualPlaces(group)
        .Where(usual => blocks.Contains(usual.BlockBitmap, 1) && blocks.Contains(usual.InodeBitmap, 1) && blocks.Contains(usual.InodeTable, super.TableBlocks()))
        .Select(usual => new ExtGroup(usual.BlockBitmap, usual.InodeBitmap, usual.InodeTable, super.InodesPerGroup, false, false, null, new Trust(Certainty.Likely, Origin.Scan)));

    /// <summary>Whether inodes stand there that belong to this group by their checksums, or, without sums, all look like inodes.</summary>
    private bool IsWitnessed(long group, long table)
    {
        HeldBytes start = blocks.Read(table, (int)Math.Min(super.TableBlocks(), Math.Max(1, WitnessesLookedAt * super.InodeSize / super.BlockSize)));
        int spoken = 0;
        for (int i = 0; i < WitnessesLookedAt && i < super.InodesPerGroup && (i + 1) * super.InodeSize <= start.Data.Length; i++)
        {
            var inode = new ExtInode((uint)((group * super.InodesPerGroup) + i + 1), start.Data.AsMemory(i * super.InodeSize, super.InodeSize));
            if (!start.Holds(i * super.InodeSize, super.InodeSize) || inode.IsBlank)
                continue;
            bool sane = super.HasMetadataSums ? inode.SumFits(super) : (inode.IsLive || inode.IsDeleted) && inode.Size(super) >= 0;
            if (!sane && !super.HasMetadataSums && inode.Number >= super.FirstFreeInode)
                return false;
            spoken += sane ? 1 : 0;
        }

        return spoken > 0;
    }

    private static long U32(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt32LittleEndian(b[at..]);

    private static int U16(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt16LittleEndian(b[at..]);
}
