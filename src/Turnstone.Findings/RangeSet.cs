using Turnstone.Media;

namespace Turnstone.Findings;

/// <summary>Stretches of the source in ascending order, none touching the next.</summary>
internal sealed class RangeSet(IReadOnlyList<ByteRange> ranges)
{
    /// <summary>No stretch.</summary>
    public static RangeSet Empty { get; } = new([]);

    /// <summary>All stretches.</summary>
    public IReadOnlyList<ByteRange> Ranges => ranges;

    /// <summary>What the set shares with a range, in order.</summary>
    public IEnumerable<ByteRange> Within(ByteRange range)
    {
        for (int i = FirstEndingAfter(range.Offset); i < ranges.Count && ranges[i].Offset < range.End; i++)
        {
            ByteRange part = ranges[i].Intersect(range);
            if (!part.IsEmpty)
                yield return part;
        }
    }

    /// <summary>How many bytes the set shares with a range.</summary>
    public long BytesWithin(ByteRange range) => Within(range).Sum(part => part.Length);

    /// <summary>Two ordered sequences as one, in order, stretches that meet or overlap joined.</summary>
    /// <param name="left">Ascending.</param>
    /// <param name="right">Ascending.</param>
    /// <param name="onOverlap">Told every stretch that was there already.</param>
    public static IEnumerable<ByteRange> Union(IEnumerable<ByteRange> left, IEnumerable<ByteRange> right, Action<ByteRange>? onOverlap = null)
    {
        ByteRange last = default;
        foreach (ByteRange next in InOrder(left, right))
        {
            if (next.IsEmpty)
                continue;
            if (last.IsEmpty || last.End < next.Offset)
            {
                if (!last.IsEmpty)
                    yield return last;
                last = next;
                continue;
            }

            ByteRange twice = last.Intersect(next);
            if (!twice.IsEmpty)
                onOverlap?.Invoke(twice);
            last = ByteRange.Between(last.Offset, Math.Max(last.End, next.End));
        }

        if (!last.IsEmpty)
            yield return last;
    }

    private static IEnumerable<ByteRange> InOrder(IEnumerable<ByteRange> left, IEnumerable<ByteRange> right)
    {
        using IEnumerator<ByteRange> l = left.GetEnumerator(), r = right.GetEnumerator();
        bool hasLeft = l.MoveNext(), hasRight = r.MoveNext();
        while (hasLeft || hasRight)
        {
            if (!hasRight || (hasLeft && l.Current.Offset <= r.Current.Offset))
            {
                yield return l.Current;
                hasLeft = l.MoveNext();
            }
            else
            {
                yield return r.Current;
                hasRight = r.MoveNext();
            }
        }
    }

    private int FirstEndingAfter(long offset)
    {
        int low = 0, high = ranges.Count;
        while (low < high)
        {
            int middle = low + ((high - low) / 2);
            if (ranges[middle].End <= offset)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }
}
