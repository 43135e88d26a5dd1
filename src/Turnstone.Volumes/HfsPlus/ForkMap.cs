using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>One stretch of a special file.</summary>
internal readonly record struct ForkPiece(long FileOffset, long VolumeOffset, long Length)
{
    public long FileEnd => FileOffset + Length;

    public ByteRange Place => new(VolumeOffset, Length);
}

/// <summary>Where the bytes of a special file (catalog, extents, attributes, allocation) lie.</summary>
/// <remarks>Its pieces never overlap, so a walk over all of them takes no longer than one over the volume.</remarks>
internal sealed class ForkMap
{
    private static readonly Comparer<ForkPiece> ByPlace = Comparer<ForkPiece>.Create((a, b) => a.VolumeOffset.CompareTo(b.VolumeOffset));
    private readonly List<ForkPiece> _pieces = [];
    private readonly List<ForkPiece> _byPlace = [];
    private readonly MetadataView _metadata;

    private ForkMap(MetadataView metadata) => _metadata = metadata;

    public MetadataView Metadata => _metadata;

    public IReadOnlyList<ForkPiece> Pieces => _pieces;

    /// <summary>Bytes of the file, as far as the volume could hold them.</summary>
    public long Length { get; private init; }

    /// <summary>Whether every byte of the file has its place.</summary>
    public bool IsComplete => _pieces.Sum(p => p.Length) == Length;

    public static ForkMap Of(MetadataView metadata, VolumeShape shape, ForkData fork, IEnumerable<FileRun> runs)
    {
        var map = new ForkMap(metadata) { Length = (long)Math.Min(fork.LogicalSize, (ulong)shape.Bytes) };
        foreach (FileRun run in runs.Where(r => shape.Allows(r.Run)).OrderBy(r => r.FirstBlock))
            map.Add(new ForkPiece(run.FirstBlock * shape.BlockBytes, (long)run.Run.Start * shape.BlockBytes, (long)run.Run.Count * shape.BlockBytes));
        map.DropOverlaps();
        return map;
    }

    /// <summary>Reads bytes of the file; those without a place are holes.</summary>
    public Held Read(long fileOffset, Span<byte> into)
    {
        into.Clear();
        ForkPiece first = _pieces.Count == 0 ? default : _pieces[IndexOf(fileOffset)];
        return first.FileOffset <= fileOffset && fileOffset + into.Length <= first.FileEnd
            ? _metadata.Read(first.VolumeOffset + fileOffset - first.FileOffset, into)
            : ReadAcross(fileOffset, into);
    }

    /// <summary>The stretches of the file of which something is held, in file order.</summary>
    public IEnumerable<ByteRange> HeldStretches()
    {
        foreach (ForkPiece piece in _pieces)
        {
            foreach (ByteRange held in Held.Between(_metadata.Volume.Missing(piece.Place), piece.Place))
                yield return new ByteRange(piece.FileOffset + held.Offset - piece.VolumeOffset, held.Length);
        }
    }

    /// <summary>Offset in the file of a byte of the volume; null where it is not the file's.</summary>
    public long? FileOffsetOf(long volumeOffset)
    {
        int at = _byPlace.BinarySearch(new ForkPiece(0, volumeOffset, 0), ByPlace);
        at = at < 0 ? ~at - 1 : at;
        return at >= 0 && volumeOffset < _byPlace[at].Place.End ? _byPlace[at].FileOffset + volumeOffset - _byPlace[at].VolumeOffset : null;
    }

    private Held ReadAcross(long fileOffset, Span<byte> into)
    {
        var holes = new List<ByteRange>();
        var origin = Origin.Table;
        int at = 0;
        for (int i = _pieces.Count == 0 ? 0 : IndexOf(fileOffset); i < _pieces.Count && at < into.Length; i++)
        {
            int gap = (int)Math.Clamp(_pieces[i].FileOffset - (fileOffset + at), 0, into.Length - at);
            if (gap > 0)
                holes.Add(new ByteRange(at, gap));
            at += gap;
            int length = (int)Math.Clamp(_pieces[i].FileEnd - (fileOffset + at), 0, into.Length - at);
            if (length == 0)
                continue;
            Held part = _metadata.Read(_pieces[i].VolumeOffset + fileOffset + at - _pieces[i].FileOffset, into.Slice(at, length));
            origin = part.Origin == Origin.Journal ? Origin.Journal : origin;
            holes.AddRange(part.Holes.Select(h => new ByteRange(h.Offset + at, h.Length)));
            at += length;
        }

        if (at < into.Length)
            holes.Add(new ByteRange(at, into.Length - at));
        return new Held(origin, holes);
    }

    private int IndexOf(long fileOffset)
    {
        int low = 0, high = _pieces.Count - 1;
        while (low < high)
        {
            int middle = (low + high + 1) / 2;
            (low, high) = _pieces[middle].FileOffset <= fileOffset ? (middle, high) : (low, middle - 1);
        }

        return low;
    }

    private void Add(ForkPiece piece)
    {
        long from = _pieces.Count > 0 ? Math.Max(piece.FileOffset, _pieces[^1].FileEnd) : piece.FileOffset;
        long to = Math.Min(piece.FileEnd, Length);
        if (from < to)
            _pieces.Add(new ForkPiece(from, piece.VolumeOffset + from - piece.FileOffset, to - from));
    }

    /// <summary>Two pieces at one place contradict each other: the later one in the file goes.</summary>
    private void DropOverlaps()
    {
        var byPlace = _pieces.OrderBy(p => p.VolumeOffset).ThenBy(p => p.FileOffset).ToList();
        var drop = new HashSet<ForkPiece>();
        ForkPiece kept = default;
        foreach (ForkPiece piece in byPlace)
        {
            if (piece.VolumeOffset >= kept.VolumeOffset + kept.Length)
                kept = piece;
            else if (piece.FileOffset > kept.FileOffset)
                drop.Add(piece);
            else
                (kept, _) = (piece, drop.Add(kept));
        }

        _pieces.RemoveAll(drop.Contains);
        _byPlace.AddRange(byPlace.Where(p => !drop.Contains(p)));
    }
}

/// <summary>A run of blocks and which block of the file it starts with.</summary>
internal readonly record struct FileRun(long FirstBlock, BlockRun Run);
