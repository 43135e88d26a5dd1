namespace Turnstone.Media;

/// <summary>The bytes of a patient as far as they are held. A hole is an ordinary answer.</summary>
/// <remarks>Safe for several threads; what is held may grow between two calls, and never shrinks.</remarks>
public interface ISectorView
{
    /// <summary>Bytes from the first to the last sector, held or not.</summary>
    long Length { get; }

    /// <summary>Sector size that the patient reports.</summary>
    SectorSize SectorSize { get; }

    /// <summary>Copies the bytes at <paramref name="offset"/>; answers false when any of them is not held.</summary>
    /// <param name="offset">First byte; any value, also outside the view (then the answer is false).</param>
    /// <param name="into">Filled where held, zero where not.</param>
    bool TryRead(long offset, Span<byte> into);

    /// <summary>The parts of the range that are not held, in order, none touching the next. What lies outside the view is not held.</summary>
    IEnumerable<ByteRange> Missing(ByteRange range);
}

/// <summary>A part of another view, addressed from its own start: a volume on a disk.</summary>
/// <param name="disk">What it is a part of.</param>
/// <param name="part">Which bytes; may reach past the end of the disk, what lies there is not held.</param>
public sealed class PartView(ISectorView disk, ByteRange part) : ISectorView
{
    /// <summary>Where the part lies in the view that it was cut from.</summary>
    public ByteRange Part => part;

    /// <inheritdoc/>
    public long Length => part.Length;

    /// <inheritdoc/>
    public SectorSize SectorSize => disk.SectorSize;

    /// <inheritdoc/>
    public bool TryRead(long offset, Span<byte> into)
    {
        if (0 <= offset && offset <= part.Length - into.Length)
            return disk.TryRead(part.Offset + offset, into);
        into.Clear();
        if (0 <= offset && offset < part.Length)
            disk.TryRead(part.Offset + offset, into[..(int)(part.Length - offset)]);
        return into.IsEmpty;
    }

    /// <inheritdoc/>
    public IEnumerable<ByteRange> Missing(ByteRange range)
    {
        ByteRange inside = range.Intersect(new ByteRange(0, part.Length));
        ByteRange outside = ByteRange.Between(Math.Min(Math.Max(range.Offset, part.Length), range.End), range.End);
        foreach (ByteRange hole in inside.IsEmpty ? [] : disk.Missing(new ByteRange(part.Offset + inside.Offset, inside.Length)))
        {
            var own = new ByteRange(hole.Offset - part.Offset, hole.Length);
            if (own.End == outside.Offset && !outside.IsEmpty)
                outside = ByteRange.Between(own.Offset, outside.End);
            else
                yield return own;
        }

        if (!outside.IsEmpty)
            yield return outside;
    }
}
