using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Apple;

/// <summary>A file compressed with zlib in blocks of 64 KiB that lie in its resource fork behind a table of their places.</summary>
/// <remarks>Layout from memory, after Apple's kernel sources and Inside Macintosh: More Macintosh Toolbox, 1993, "Resource File Format".</remarks>
internal sealed class InflatedFork(long length, FileContent fork) : FileContent
{
    private const int BlockBytes = 64 * 1024, StoredMax = BlockBytes + 1024;
    private const int DataAt = 0, CountAt = 4, TableAt = 8, EntryLength = 8;

    public override long Length => length;

    public override IReadOnlyList<Extent>? Extents => fork.Extents;

    private long Blocks => (length + BlockBytes - 1) / BlockBytes;

    /// <summary>The most bytes that a fork can stand for: each block takes at least its entry in the table.</summary>
    public static ulong LengthMax(long forkBytes) => (ulong)(forkBytes / EntryLength) * BlockBytes;

    /// <summary>A block counts as had only when it inflates to its full length: bytes that are held but bent are no file.</summary>
    public override IEnumerable<ByteRange> Missing(ISectorView disk)
    {
        byte[] bytes = new byte[BlockBytes];
        long next = 0;
        // No more blocks than what is held can describe: a fork of zeros without end describes none.
        long most = (HeldBytes(disk) / EntryLength) + 1;
        foreach (long block in BlocksWithPlace(disk).TakeWhile(_ => most-- > 0).Where(b => TryBlock(disk, b, bytes.AsSpan(0, LengthOf(b)))))
        {
            if (block > next)
                yield return ByteRange.Between(next * BlockBytes, block * BlockBytes);
            next = block + 1;
        }

        if (next < Blocks)
            yield return ByteRange.Between(next * BlockBytes, length);
    }

    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bool whole = true;
        byte[] block = new byte[BlockBytes];
        while (!into.IsEmpty)
        {
            (long number, int skip) = (offset / BlockBytes, (int)(offset % BlockBytes));
            Span<byte> bytes = block.AsSpan(0, LengthOf(number));
            int step = Math.Min(into.Length, bytes.Length - skip);
            bool had = TryBlock(disk, number, bytes);
            if (had)
                bytes.Slice(skip, step).CopyTo(into);
            else
                into[..step].Clear();
            whole &= had;
            offset += step;
            into = into[step..];
        }

        return whole;
    }

    private int LengthOf(long block) => (int)Math.Min(BlockBytes, length - (block * BlockBytes));

    private bool TryBlock(ISectorView disk, long number, Span<byte> into)
    {
        if (PlaceOf(disk, number) is not { } place)
            return false;
        byte[] stored = new byte[place.Length];
        return fork.TryRead(disk, place.Offset, stored) && Zlib.TryInflate(stored, into.Length, 0, into);
    }

    /// <summary>Blocks whose entry in the table is held: a table that is not held costs no time.</summary>
    private IEnumerable<long> BlocksWithPlace(ISectorView disk)
    {
        if (Table(disk) is not { } table)
            yield break;
        long at = table.Offset;
        IEnumerable<ByteRange> holes = fork.Missing(disk).Select(h => h.Intersect(table)).Where(h => !h.IsEmpty);
        foreach (ByteRange hole in holes.Append(new ByteRange(table.End, 0)))
        {
            long first = (at - table.Offset + EntryLength - 1) / EntryLength;
            for (long block = first; (block + 1) * EntryLength <= hole.Offset - table.Offset; block++)
                yield return block;
            at = hole.End;
        }
    }

    private long HeldBytes(ISectorView disk)
    {
        long zeros = fork.Extents?.Where(e => e.Kind == ExtentKind.Zeros).Sum(e => e.Length) ?? 0;
        return Math.Max(0, fork.Length - zeros - fork.Missing(disk).Sum(hole => hole.Length));
    }

    /// <summary>Where the table lies in the fork, cut to the blocks that the file has.</summary>
    private ByteRange? Table(ISectorView disk)
    {
        Span<byte> number = stackalloc byte[4];
        if (!TryReadFork(disk, DataAt, number))
            return null;
        long data = BinaryPrimitives.ReadUInt32BigEndian(number);
        if (!TryReadFork(disk, data + CountAt, number))
            return null;
        long entries = Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(number), Blocks), start = data + TableAt;
        return start <= fork.Length ? new ByteRange(start, Math.Min(entries * EntryLength, fork.Length - start)) : null;
    }

    /// <summary>Where a block lies in the fork.</summary>
    private ByteRange? PlaceOf(ISectorView disk, long number)
    {
        Span<byte> entry = stackalloc byte[EntryLength];
        if (Table(disk) is not { } table || (number + 1) * EntryLength > table.Length || !TryReadFork(disk, table.Offset + (number * EntryLength), entry))
            return null;
        long offset = table.Offset - TableAt + CountAt + BinaryPrimitives.ReadUInt32LittleEndian(entry), bytes = BinaryPrimitives.ReadUInt32LittleEndian(entry[4..]);
        return bytes <= StoredMax && offset <= fork.Length - bytes ? new ByteRange(offset, bytes) : null;
    }

    private bool TryReadFork(ISectorView disk, long at, Span<byte> into) => at <= fork.Length - into.Length && fork.TryRead(disk, at, into);
}
