using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>A file with NTFS compression. Each unit of clusters is stored plain, not at all, or packed into fewer clusters.</summary>
/// <remarks>
/// A unit whose clusters are all there is plain; one with none reads as zeros; one that ends in a sparse run is packed.
/// Rule: Linux kernel 6.1, fs/ntfs3/attrib.c, attr_is_frame_compressed.
/// </remarks>
internal sealed class CompressedContent : FileContent
{
    private readonly long _size;
    private readonly int _unitBytes;
    private readonly IReadOnlyList<UnitPiece> _pieces;

    /// <summary>Takes what the attribute says.</summary>
    /// <param name="runs">Its runs.</param>
    /// <param name="clusterBytes">Bytes in a cluster.</param>
    /// <param name="unitClusters">Clusters packed together.</param>
    /// <param name="volumeStart">First byte of the volume on the source.</param>
    /// <param name="size">Bytes of the file.</param>
    /// <param name="validSize">Bytes that were written; the rest reads as zeros.</param>
    public CompressedContent(IReadOnlyList<Run> runs, int clusterBytes, int unitClusters, long volumeStart, long size, long validSize)
    {
        _size = size;
        _unitBytes = clusterBytes * unitClusters;
        _pieces = UnitPieces.Of(runs, clusterBytes, unitClusters, volumeStart, size, validSize);
        Extents = [.. runs.Select(run => RunExtents.Of(run, clusterBytes, volumeStart))];
    }

    /// <inheritdoc/>
    public override long Length => _size;

    /// <inheritdoc/>
    public override IReadOnlyList<Extent> Extents { get; }

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk) => _pieces.SelectMany(piece => Holes(disk, piece)).Joined();

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bool whole = true;
        for (int i = First(offset); !into.IsEmpty && i < _pieces.Count; i++)
        {
            UnitPiece piece = _pieces[i];
            long skip = offset - piece.Offset;
            Span<byte> part = into[..(int)Math.Min(into.Length, piece.Length - skip)];
            whole &= Read(disk, piece, skip, part);
            offset += part.Length;
            into = into[part.Length..];
        }

        return whole && into.IsEmpty;
    }

    private static IEnumerable<ByteRange> Shift(IEnumerable<ByteRange> holes, long by) => holes.Select(hole => new ByteRange(hole.Offset + by, hole.Length));

    private int First(long offset)
    {
        int low = 0, high = _pieces.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_pieces[middle].Offset + _pieces[middle].Length <= offset)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }

    private IEnumerable<ByteRange> Holes(ISectorView disk, UnitPiece piece)
    {
        if (!piece.IsPacked)
            return Shift(new StoredContent(piece.Extents).Missing(disk), piece.Offset);
        return Shift(new PackedUnit(disk, piece, _unitBytes).Holes, piece.Offset);
    }

    private bool Read(ISectorView disk, UnitPiece piece, long skip, Span<byte> into)
    {
        if (!piece.IsPacked)
            return new StoredContent(piece.Extents).TryRead(disk, skip, into);
        var unit = new PackedUnit(disk, piece, _unitBytes);
        unit.Bytes.Slice((int)skip, into.Length).CopyTo(into);
        var asked = new ByteRange(skip, into.Length);
        return unit.Holes.All(hole => hole.Intersect(asked).IsEmpty);
    }
}
