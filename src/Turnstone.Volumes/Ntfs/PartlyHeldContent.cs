using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>A file inside its own record, of which a part is not held or torn.</summary>
/// <param name="bytes">The file, zeros where it is not held.</param>
/// <param name="holes">Which parts are not held.</param>
internal sealed class PartlyHeldContent(ReadOnlyMemory<byte> bytes, IReadOnlyList<ByteRange> holes) : FileContent
{
    /// <inheritdoc/>
    public override long Length => bytes.Length;

    /// <inheritdoc/>
    public override IReadOnlyList<Extent>? Extents => null;

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk) => holes;

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bytes.Span.Slice((int)offset, into.Length).CopyTo(into);
        bool whole = true;
        foreach (ByteRange hole in holes)
        {
            ByteRange inside = hole.Intersect(new ByteRange(offset, into.Length));
            into.Slice((int)(inside.Offset - offset), (int)inside.Length).Clear();
            whole &= inside.IsEmpty;
        }

        return whole;
    }
}
