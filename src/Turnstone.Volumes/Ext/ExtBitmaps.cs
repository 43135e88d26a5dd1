using System.Buffers.Binary;
using System.Numerics;
using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>Which blocks are in use, as the block bitmaps tell.</summary>
/// <remarks>Linux kernel 6.1 documentation, filesystems/ext4, 'Block and Inode Bitmaps'; a bit stands for a cluster where clusters are kept.</remarks>
internal sealed class ExtBitmaps(ExtBlocks blocks, ExtSuperblock super, ExtGroups groups)
{
    private (long Group, HeldBytes? Bits) _last = (-1, null);

    private int BitsPerGroup => super.BlocksPerGroup / super.ClusterBlocks;

    /// <summary>Whether a block is in use.</summary>
    public Usage Of(long block)
    {
        long group = (block - super.FirstDataBlock) / super.BlocksPerGroup;
        if (_last.Group != group)
            _last = (group, groups.Find(group) is { } found ? Read(group, found) : null);
        int bit = (int)((block - super.FirstBlock(group)) / super.ClusterBlocks);
        return _last.Bits is not { } bits || !bits.Holds(bit / 8, 1) ? Usage.Unknown : IsSet(bits, bit) ? Usage.Used : Usage.Free;
    }

    /// <summary>Runs of blocks with one answer, in order; what is not known is left out.</summary>
    public IEnumerable<UsageRun> Runs()
    {
        UsageRun last = default;
        foreach (UsageRun run in GroupRuns())
        {
            if (run.Usage == last.Usage && run.Place.Offset == last.Place.End)
            {
                last = last with { Place = ByteRange.Between(last.Place.Offset, run.Place.End) };
                continue;
            }

            if (!last.Place.IsEmpty)
                yield return last;
            last = run;
        }

        if (!last.Place.IsEmpty)
            yield return last;
    }

    private IEnumerable<UsageRun> GroupRuns()
    {
        long end = Math.Min(super.Blocks, blocks.Part.Length / super.BlockSize);
        for (long group = 0; group < groups.Count; group++)
        {
            if (groups.Find(group) is not { } found || Read(group, found) is not { } bits)
                continue;
            long blocksHere = Math.Min(super.BlocksPerGroup, end - super.FirstBlock(group));
            int count = (int)((blocksHere + super.ClusterBlocks - 1) / super.ClusterBlocks);
            for (int at = 0; at < count;)
            {
                int run = RunLength(bits, at, count);
                long first = super.FirstBlock(group) + ((long)at * super.ClusterBlocks);
                long length = Math.Min((long)run * super.ClusterBlocks, end - first);
                if (bits.Holds(at / 8, 1))
                    yield return new UsageRun(blocks.Place(first, length), IsSet(bits, at) ? Usage.Used : Usage.Free);
                at += run;
            }
        }
    }

    /// <summary>A group's bitmap; null where it is damaged. One that was never written is put together.</summary>
    private HeldBytes? Read(long group, ExtGroup found)
    {
        if (found.IsBlockBitmapBlank)
            return Blank(group);
        HeldBytes bits = blocks.Read(found.BlockBitmap, 1);
        bool fits = !bits.IsWhole || found.BlockBitmapSum is not { } sum || sum.Fits(ExtSums.Crc32C(super.SumSeed, bits.Data.AsSpan(0, BitsPerGroup / 8)));
        return fits ? bits : null;
    }

    /// <summary>A group in which only the copies of superblock and descriptors are in use.</summary>
    private HeldBytes Blank(long group)
    {
        var bits = new byte[super.BlockSize];
        for (long i = 0; i < (super.Overhead(group) + super.ClusterBlocks - 1) / super.ClusterBlocks && i < BitsPerGroup; i++)
            bits[i / 8] |= (byte)(1 << (int)(i % 8));
        return new HeldBytes(bits, []);
    }

    /// <summary>Bits from one on that have its value and whose bytes are held like its own.</summary>
    private static int RunLength(HeldBytes bits, int from, int end)
    {
        bool held = bits.Holds(from / 8, 1), set = held && IsSet(bits, from);
        int at = from;
        while (at < end)
        {
            if (bits.IsWhole && at % 64 == 0 && at + 64 <= end)
            {
                ulong word = BinaryPrimitives.ReadUInt64LittleEndian(bits.Data.AsSpan(at / 8));
                int same = BitOperations.TrailingZeroCount(set ? ~word : word);
                at += same;
                if (same < 64)
                    break;
                continue;
            }

            if (at % 8 == 0 && bits.Holds(at / 8, 1) != held)
                break;
            if (held && IsSet(bits, at) != set)
                break;
            at++;
        }

        return Math.Max(1, at - from);
    }

    private static bool IsSet(HeldBytes bits, int bit) => (bits.Data[bit / 8] & (1 << (bit % 8))) != 0;
}
