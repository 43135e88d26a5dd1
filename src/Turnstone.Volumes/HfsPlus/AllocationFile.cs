using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>One bit for each block: in use or free.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Allocation File" (from memory): the highest bit of a byte is its first block.</remarks>
internal sealed class AllocationFile(ForkMap map, VolumeShape shape, long sourceOffset)
{
    // A record may claim the whole volume: the bits of its first blocks say enough.
    private const int Step = 64 * 1024, LookedAt = 4096;

    /// <summary>Runs of blocks in ascending order; those whose bits are not held are left out.</summary>
    public IEnumerable<UsageRun> Runs()
    {
        var open = default(UsageRun);
        foreach ((long block, long count, bool used) in Stretches())
        {
            var place = new ByteRange(sourceOffset + (block * shape.BlockBytes), count * shape.BlockBytes);
            Usage usage = used ? Usage.Used : Usage.Free;
            if (open.Usage == usage && open.Place.End == place.Offset)
            {
                open = open with { Place = ByteRange.Between(open.Place.Offset, place.End) };
                continue;
            }

            if (open.Usage != Usage.Unknown)
                yield return open;
            open = new UsageRun(place, usage);
        }

        if (open.Usage != Usage.Unknown)
            yield return open;
    }

    /// <summary>Whether all, or at least one, of the blocks are free now.</summary>
    /// <returns>Used when all are in use; Free when any is free; Unknown when that cannot be told.</returns>
    public Usage Of(BlockRun run)
    {
        long first = run.Start / 8, last = Math.Min((long)run.End - 1, shape.TotalBlocks - 1) / 8;
        byte[] bits = new byte[Math.Clamp(last - first + 1, 0, LookedAt)];
        Held held = map.Read(first, bits);
        for (long block = run.Start; block < (long)run.End && (block / 8) - first < bits.Length; block++)
        {
            int at = (int)((block / 8) - first);
            if (held.Has(at, 1) && (bits[at] & (0x80 >> (int)(block % 8))) == 0)
                return Usage.Free;
        }

        return held.IsWhole && last - first < bits.Length ? Usage.Used : Usage.Unknown;
    }

    private IEnumerable<(long Block, long Count, bool Used)> Stretches()
    {
        byte[] bits = new byte[Step];
        foreach (ByteRange stretch in map.HeldStretches())
        {
            for (long at = stretch.Offset; at < stretch.End; at += Step)
            {
                int length = (int)Math.Min(Step, stretch.End - at);
                if (!map.Read(at, bits.AsSpan(0, length)).IsWhole)
                    continue;
                for (long block = at * 8, end = Math.Min(block + (8L * length), shape.TotalBlocks); block < end;)
                {
                    (long count, bool used) = Stretch(bits, at, block, end);
                    yield return (block, count, used);
                    block += count;
                }
            }
        }
    }

    private static (long Count, bool Used) Stretch(byte[] bits, long at, long from, long end)
    {
        bool used = Bit(bits, at, from);
        long block = from;
        byte same = used ? (byte)0xFF : (byte)0;
        while (block < end)
        {
            if (block % 8 == 0 && bits[(block / 8) - at] == same)
                block += 8;
            else if (Bit(bits, at, block) == used)
                block++;
            else
                break;
        }

        return (Math.Min(block, end) - from, used);
    }

    private static bool Bit(byte[] bits, long at, long block) => (bits[(block / 8) - at] & (0x80 >> (int)(block % 8))) != 0;
}
