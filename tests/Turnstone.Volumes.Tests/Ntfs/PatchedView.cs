using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>A view with some bytes changed, so that a large image need not be copied for each change.</summary>
internal sealed class PatchedView(ISectorView inner, IReadOnlyList<(long Offset, byte[] Bytes)> patches) : ISectorView
{
    public long Length => inner.Length;

    public SectorSize SectorSize => inner.SectorSize;

    public bool TryRead(long offset, Span<byte> into)
    {
        bool whole = inner.TryRead(offset, into);
        foreach ((long at, byte[] bytes) in patches)
        {
            long from = Math.Max(at, offset), to = Math.Min(at + bytes.Length, offset + into.Length);
            if (from < to)
                bytes.AsSpan((int)(from - at), (int)(to - from)).CopyTo(into[(int)(from - offset)..]);
        }

        return whole;
    }

    public IEnumerable<ByteRange> Missing(ByteRange range) => inner.Missing(range);
}
