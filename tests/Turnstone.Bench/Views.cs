using Turnstone.Media;

namespace Turnstone.Bench;

/// <summary>A patient of a few bytes, all held.</summary>
public sealed class MemoryView(byte[] bytes, int sectorSize = 512) : ISectorView
{
    public long Length => bytes.Length;

    public SectorSize SectorSize { get; } = new(sectorSize);

    public bool TryRead(long offset, Span<byte> into)
    {
        int held = offset < 0 || offset >= bytes.Length ? 0 : (int)Math.Min(into.Length, bytes.Length - offset);
        if (held > 0)
            bytes.AsSpan((int)offset, held).CopyTo(into);
        into[held..].Clear();
        return held == into.Length;
    }

    public IEnumerable<ByteRange> Missing(ByteRange range) =>
        range.End <= Length ? [] : [ByteRange.Between(Math.Max(range.Offset, Length), range.End)];
}

/// <summary>Takes ranges away from a view: what a failing drive would not give. Holes are widened to whole sectors.</summary>
public sealed class HoledView : ISectorView
{
    private readonly ISectorView _inner;
    private readonly ByteRange[] _holes;

    public HoledView(ISectorView inner, IEnumerable<ByteRange> holes)
    {
        _inner = inner;
        _holes = [.. holes.Where(h => !h.IsEmpty).Select(h => h.Sectors(inner.SectorSize).Bytes(inner.SectorSize)).OrderBy(h => h.Offset).Joined()];
    }

    /// <summary>Only the given ranges are held.</summary>
    public static HoledView Only(ISectorView inner, IEnumerable<ByteRange> held)
    {
        var holes = new List<ByteRange>();
        long at = 0;
        foreach (ByteRange range in held.OrderBy(h => h.Offset))
        {
            if (range.Offset > at)
                holes.Add(ByteRange.Between(at, range.Offset));
            at = Math.Max(at, range.End);
        }

        if (at < inner.Length)
            holes.Add(ByteRange.Between(at, inner.Length));
        return new HoledView(inner, holes);
    }

    public long Length => _inner.Length;

    public SectorSize SectorSize => _inner.SectorSize;

    public bool TryRead(long offset, Span<byte> into)
    {
        bool whole = _inner.TryRead(offset, into);
        foreach (ByteRange hole in offset < 0 ? [] : HolesIn(new ByteRange(offset, into.Length)))
        {
            into.Slice((int)(hole.Offset - offset), (int)hole.Length).Clear();
            whole = false;
        }

        return whole;
    }

    public IEnumerable<ByteRange> Missing(ByteRange range) => HolesIn(range).Concat(_inner.Missing(range)).OrderBy(h => h.Offset).Joined();

    private IEnumerable<ByteRange> HolesIn(ByteRange range)
    {
        int i = Array.BinarySearch(_holes, range, Comparer<ByteRange>.Create((a, b) => a.Offset.CompareTo(b.Offset)));
        for (i = Math.Max(0, i < 0 ? ~i - 1 : i); i < _holes.Length && _holes[i].Offset < range.End; i++)
        {
            ByteRange part = _holes[i].Intersect(range);
            if (!part.IsEmpty)
                yield return part;
        }
    }
}
