using Turnstone.Media;

namespace Turnstone.Findings;

/// <summary>A view in which some stretches are not held although the source gave them: they belong to somebody else now.</summary>
/// <remarks>A deleted file is read through it, so that a live file's bytes are never taken for the deleted one's.</remarks>
internal sealed class WithoutView(ISectorView inner, RangeSet taken) : ISectorView
{
    /// <inheritdoc/>
    public long Length => inner.Length;

    /// <inheritdoc/>
    public SectorSize SectorSize => inner.SectorSize;

    /// <inheritdoc/>
    public bool TryRead(long offset, Span<byte> into)
    {
        bool held = inner.TryRead(offset, into);
        if (offset < 0 || offset > long.MaxValue - into.Length)
            return held;
        foreach (ByteRange part in taken.Within(new ByteRange(offset, into.Length)))
        {
            into.Slice((int)(part.Offset - offset), (int)part.Length).Clear();
            held = false;
        }

        return held;
    }

    /// <inheritdoc/>
    public IEnumerable<ByteRange> Missing(ByteRange range) => RangeSet.Union(inner.Missing(range), taken.Within(range));
}
