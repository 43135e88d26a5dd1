namespace Turnstone.Media;

/// <summary>Bytes from <see cref="Offset"/> up to, not including, <see cref="End"/>.</summary>
public readonly record struct ByteRange
{
    /// <summary>Takes the first byte and how many there are.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A negative offset or length, or an end past the largest offset.</exception>
    public ByteRange(long offset, long length)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(offset);
        ArgumentOutOfRangeException.ThrowIfNegative(length);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(length, long.MaxValue - offset);
        Offset = offset;
        Length = length;
    }

    /// <summary>First byte.</summary>
    public long Offset { get; }

    /// <summary>How many bytes.</summary>
    public long Length { get; }

    /// <summary>The byte after the last one.</summary>
    public long End => Offset + Length;

    /// <summary>Whether there is no byte in it.</summary>
    public bool IsEmpty => Length == 0;

    /// <summary>Bytes from <paramref name="start"/> up to, not including, <paramref name="end"/>.</summary>
    public static ByteRange Between(long start, long end) => new(start, end - start);

    /// <summary>Whether the other range lies wholly inside this one.</summary>
    public bool Contains(ByteRange other) => Offset <= other.Offset && other.End <= End;

    /// <summary>What both ranges share; empty when they don't meet.</summary>
    public ByteRange Intersect(ByteRange other)
    {
        long from = Math.Max(Offset, other.Offset), to = Math.Min(End, other.End);
        return from < to ? Between(from, to) : new ByteRange(from, 0);
    }

    /// <summary>The sectors that these bytes touch, whole sectors at both ends.</summary>
    public SectorRange Sectors(SectorSize size)
    {
        long first = Offset / size.Bytes;
        return IsEmpty
            ? new SectorRange(new Lba(first), SectorCount.None)
            : SectorRange.Between(first, ((End - 1) / size.Bytes) + 1);
    }

    /// <inheritdoc/>
    public override string ToString() => $"{Offset}+{Length}";
}

/// <summary>Lists of byte ranges.</summary>
public static class ByteRanges
{
    /// <summary>Joins what touches or overlaps.</summary>
    /// <param name="ranges">In the order of their first bytes; empty ones are dropped.</param>
    public static IEnumerable<ByteRange> Joined(this IEnumerable<ByteRange> ranges)
    {
        ByteRange open = default;
        foreach (ByteRange range in ranges.Where(range => !range.IsEmpty))
        {
            if (!open.IsEmpty && range.Offset <= open.End)
            {
                open = ByteRange.Between(open.Offset, Math.Max(open.End, range.End));
                continue;
            }

            if (!open.IsEmpty)
                yield return open;
            open = range;
        }

        if (!open.IsEmpty)
            yield return open;
    }
}
