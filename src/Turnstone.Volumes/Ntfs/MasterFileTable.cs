using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Records of the table that came to their place by searching and not by the table's own runs.</summary>
/// <param name="First">Number of the first record.</param>
/// <param name="End">Number after the last one.</param>
/// <param name="Certainty">Whether anything but the records themselves speaks for the place.</param>
internal readonly record struct FoundRecords(long First, long End, Certainty Certainty);

/// <summary>The file table ($MFT): where each record lies on the volume, as far as that is known.</summary>
/// <param name="part">The volume.</param>
/// <param name="extents">Places of all records in order, on the volume.</param>
/// <param name="recordBytes">Bytes of a record.</param>
/// <param name="found">Which records were found by searching, in ascending order.</param>
internal sealed class MasterFileTable(PartView part, IReadOnlyList<Extent> extents, int recordBytes, IReadOnlyList<FoundRecords> found)
{
    // Large, because each block is handed from one thread to the other, and on a busy machine that waits for its turn.
    private const int BlockBytes = 4 << 20;

    private readonly StoredContent _data = new(extents);

    private int BlockRecords => (int)Math.Clamp(Count, 1, BlockBytes / recordBytes);

    /// <summary>Number of the last record and one; not all of them need to have a place.</summary>
    public long Count => _data.Length / recordBytes;

    /// <summary>Where the records lie on the volume, in order.</summary>
    public IReadOnlyList<Extent> Extents => extents;

    /// <summary>Whether every record has its place.</summary>
    public bool IsWhole => extents.Count > 0 && extents.All(extent => extent.Kind == ExtentKind.Stored);

    /// <summary>How a record's place is known, and how sure that is.</summary>
    public (Origin Origin, Certainty Certainty) PlaceOf(long number)
    {
        int low = 0, high = found.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (found[middle].End <= number)
                low = middle + 1;
            else
                high = middle;
        }

        if (low < found.Count && found[low].First <= number)
            return (Origin.Scan, found[low].Certainty);
        return (Origin.Table, Certainty.Sure);
    }

    /// <summary>Copies a record as it lies on the disk; false where it has no place or none of it is held.</summary>
    public bool TryRead(long number, Span<byte> into, out Strides held)
    {
        held = Strides.AllGood;
        if (number < 0 || number >= Count)
            return false;
        held = Strides.Read(_data, part, number * recordBytes, into);
        return held.GoodPrefix(0, Strides.Bytes) > 0;
    }

    /// <summary>All records that have a place, in order and in blocks. A block is only good until the next one is asked for.</summary>
    public IEnumerable<MftBlock> Blocks()
    {
        // One block is read while the one before it is being looked at.
        byte[] now = new byte[BlockRecords * recordBytes], next = new byte[now.Length];
        Task<MftBlock?>? ahead = null;
        foreach ((long first, int count) in BlockPlaces())
        {
            byte[] buffer = next;
            var reading = Task.Run(() => Block(first, count, buffer));
            if (ahead?.GetAwaiter().GetResult() is { } block)
                yield return block;
            (ahead, now, next) = (reading, next, now);
        }

        if (ahead?.GetAwaiter().GetResult() is { } last)
            yield return last;
    }

    private IEnumerable<(long First, int Count)> BlockPlaces()
    {
        foreach ((long from, long to) in Placed())
        {
            for (long first = from; first < to; first += BlockRecords)
                yield return (first, (int)Math.Min(BlockRecords, to - first));
        }
    }

    private MftBlock? Block(long first, int count, byte[] buffer)
    {
        Span<byte> bytes = buffer.AsSpan(0, count * recordBytes);
        long offset = first * recordBytes;
        if (_data.TryRead(part, offset, bytes))
            return new MftBlock(first, count, buffer, recordBytes, holes: null);
        Dictionary<int, Strides> holes = Holes(offset, bytes.Length);
        return holes.Count == count && holes.Values.All(strides => strides.GoodPrefix(0, recordBytes) == 0)
            ? null
            : new MftBlock(first, count, buffer, recordBytes, holes);
    }

    private Dictionary<int, Strides> Holes(long offset, int length)
    {
        var holes = new Dictionary<int, Strides>();
        foreach (ByteRange hole in new StoredContent(RunExtents.Slice(extents, offset, length)).Missing(part))
        {
            for (int i = (int)(hole.Offset / recordBytes); i * (long)recordBytes < hole.End; i++)
            {
                ByteRange inside = hole.Intersect(new ByteRange(i * (long)recordBytes, recordBytes));
                holes[i] = holes.GetValueOrDefault(i, Strides.AllGood).Without((int)(inside.Offset % recordBytes), (int)inside.Length);
            }
        }

        return holes;
    }

    // Stretches of records that lie somewhere; a record that only touches an unknown stretch counts, part of it may be held.
    private IEnumerable<(long From, long To)> Placed()
    {
        long at = 0, from = 0;
        foreach (Extent extent in extents)
        {
            if (extent.Kind == ExtentKind.Unknown)
            {
                if (at > from)
                    yield return (from / recordBytes, Records(at));
                from = at + extent.Length;
            }

            at += extent.Length;
        }

        if (at > from)
            yield return (from / recordBytes, Math.Min(Count, Records(at)));
    }

    private long Records(long bytes) => (bytes + recordBytes - 1) / recordBytes;
}

/// <summary>Some records of the table in a row.</summary>
internal sealed class MftBlock(long first, int count, byte[] bytes, int recordBytes, Dictionary<int, Strides>? holes)
{
    /// <summary>Number of the first record.</summary>
    public long First => first;

    /// <summary>How many records.</summary>
    public int Count => count;

    /// <summary>The record as it lies on the disk; may be restored in place, once.</summary>
    public Span<byte> Record(int index) => bytes.AsSpan(index * recordBytes, recordBytes);

    /// <summary>Which strides of the record are held.</summary>
    public Strides HeldOf(int index) => holes is not null && holes.TryGetValue(index, out Strides strides) ? strides : Strides.AllGood;
}
