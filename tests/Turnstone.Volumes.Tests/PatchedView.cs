using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>A view with some bytes changed: damage to chosen structures of a real volume.</summary>
internal sealed class PatchedView(ISectorView inner) : ISectorView
{
    private readonly List<(long At, byte[] Bytes)> _patches = [];

    public long Length => inner.Length;

    public SectorSize SectorSize => inner.SectorSize;

    public PatchedView With(long at, params byte[] bytes)
    {
        _patches.Add((at, bytes));
        return this;
    }

    public bool TryRead(long offset, Span<byte> into)
    {
        bool held = inner.TryRead(offset, into);
        foreach ((long at, byte[] bytes) in _patches)
        {
            ByteRange both = new ByteRange(at, bytes.Length).Intersect(new ByteRange(Math.Max(0, offset), into.Length));
            if (!both.IsEmpty)
                bytes.AsSpan((int)(both.Offset - at), (int)both.Length).CopyTo(into[(int)(both.Offset - offset)..]);
        }

        return held;
    }

    public IEnumerable<ByteRange> Missing(ByteRange range) => inner.Missing(range);
}

/// <summary>The same bytes behind another sector size: what a bridge does.</summary>
internal sealed class BridgedView(ISectorView inner, int sectorBytes) : ISectorView
{
    public long Length => inner.Length;

    public SectorSize SectorSize { get; } = new(sectorBytes);

    public bool TryRead(long offset, Span<byte> into) => inner.TryRead(offset, into);

    public IEnumerable<ByteRange> Missing(ByteRange range) => inner.Missing(range);
}
