using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>Reads blocks of one volume, each in its newest committed state.</summary>
/// <param name="part">The volume.</param>
/// <param name="super">Its layout.</param>
/// <param name="newer">Committed blocks that still wait in the journal, by block number; empty on a clean volume.</param>
internal sealed class ExtBlocks(PartView part, ExtSuperblock super, IReadOnlyDictionary<long, JournalCopy> newer)
{
    private readonly long[] _newerOrder = [.. newer.Keys.Order()];

    public PartView Part => part;

    /// <summary>Whether a run of blocks lies in the volume and behind its first block.</summary>
    public bool Contains(long block, long count) =>
        block >= Math.Max(1, super.FirstDataBlock) && count >= 0 && block <= super.Blocks - count;

    /// <summary>Bytes of the source that a run of blocks takes.</summary>
    public ByteRange Place(long block, long count) => new(part.Part.Offset + (block * super.BlockSize), count * super.BlockSize);

    /// <summary>The blocks of a run of which anything is held, in order.</summary>
    public IEnumerable<long> Held(long block, long count)
    {
        long at = block;
        var run = new ByteRange(block * super.BlockSize, count * super.BlockSize);
        foreach (ByteRange hole in part.Missing(run))
        {
            for (; at < (hole.Offset + super.BlockSize - 1) / super.BlockSize; at++)
                yield return at;
            at = Math.Max(at, hole.End / super.BlockSize);
        }

        for (; at < block + count; at++)
            yield return at;
    }

    /// <summary>Reads whole blocks.</summary>
    public HeldBytes Read(long block, int count)
    {
        var data = new byte[count * super.BlockSize];
        if (newer.Count == 0)
            return ReadHome(block * super.BlockSize, data);
        var missing = new List<ByteRange>();
        for (int i = 0; i < count; i++)
        {
            HeldBytes one = ReadOne(block + i);
            one.Data.CopyTo(data, i * super.BlockSize);
            missing.AddRange(one.Missing.Select(hole => new ByteRange(hole.Offset + ((long)i * super.BlockSize), hole.Length)));
        }

        return new HeldBytes(data, missing);
    }

    /// <summary>The first block from one on whose newest state waits in the journal; the greatest number where there is none.</summary>
    public long NextNewer(long block)
    {
        int at = Array.BinarySearch(_newerOrder, block);
        at = at < 0 ? ~at : at;
        return at < _newerOrder.Length ? _newerOrder[at] : long.MaxValue;
    }

    /// <summary>Where the content of a file's block lies: in its place, or still in the journal; null where the journal holds it in another form.</summary>
    public long? ContentBlock(long block) =>
        !newer.TryGetValue(block, out JournalCopy copy) ? block : copy.IsEscaped ? null : copy.Place;

    /// <summary>Reads one copy out of the journal.</summary>
    public HeldBytes Read(JournalCopy copy)
    {
        HeldBytes read = ReadHome(copy.Place * super.BlockSize, new byte[super.BlockSize]);
        if (copy.IsEscaped)
            JournalCopy.Magic.CopyTo(read.Data);
        return read;
    }

    private HeldBytes ReadOne(long block) =>
        newer.TryGetValue(block, out JournalCopy copy) ? Read(copy) : ReadHome(block * super.BlockSize, new byte[super.BlockSize]);

    private HeldBytes ReadHome(long offset, byte[] data)
    {
        if (part.TryRead(offset, data))
            return new HeldBytes(data, []);
        return new HeldBytes(data, [.. part.Missing(new ByteRange(offset, data.Length)).Select(hole => new ByteRange(hole.Offset - offset, hole.Length))]);
    }
}
