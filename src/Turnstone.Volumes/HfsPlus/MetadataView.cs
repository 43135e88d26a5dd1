using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The volume's metadata as it would be after the journal is played back, and from older journal blocks where nothing else is held.</summary>
internal sealed class MetadataView(ISectorView volume, Journal? journal)
{
    public ISectorView Volume => volume;

    public Journal? Journal => journal;

    /// <summary>Reads metadata of the volume; what is not held is zero and named in the answer.</summary>
    public Held Read(long offset, Span<byte> into)
    {
        bool whole = volume.TryRead(offset, into);
        if (whole && journal is not { IsWaiting: true })
            return Held.Whole;
        IReadOnlyList<ByteRange> holes = whole ? [] : Holes(offset, into.Length);
        // what is held may have grown since the first try: whatever is no hole now must be in the buffer, too
        if (!whole)
            volume.TryRead(offset, into);
        // only whole sectors of the journal can stand in: metadata that the journal knows always starts at one
        if (journal is null || offset % journal.SectorBytes != 0 || into.Length % journal.SectorBytes != 0)
            return new Held(Origin.Table, holes);
        Held replayed = PlayBack(journal, offset, into, holes);
        return replayed.IsWhole ? replayed : FromOlder(journal, offset, into, replayed);
    }

    private Held PlayBack(Journal journal, long offset, Span<byte> into, IReadOnlyList<ByteRange> holes)
    {
        var origin = Origin.Table;
        for (int at = 0; at < into.Length; at += journal.SectorBytes)
        {
            if (journal.Waiting(offset + at) is not { } place)
                continue;
            origin = Origin.Journal;
            bool held = volume.TryRead(place, into.Slice(at, journal.SectorBytes));
            holes = Replace(holes, new ByteRange(at, journal.SectorBytes), held);
        }

        return new Held(origin, holes);
    }

    /// <summary>Fills holes from the ring, unless a part that is held differs: then the ring's state is not this one.</summary>
    private Held FromOlder(Journal journal, long offset, Span<byte> into, Held held)
    {
        byte[] filled = into.ToArray();
        byte[] sector = new byte[journal.SectorBytes];
        IReadOnlyList<ByteRange> holes = held.Holes;
        for (int at = 0; at < into.Length; at += journal.SectorBytes)
        {
            if (journal.Older(offset + at) is not { } place || !volume.TryRead(place, sector))
                continue;
            bool isHeld = held.Has(at, sector.Length);
            if (isHeld && !into.Slice(at, sector.Length).SequenceEqual(sector))
                return held;
            sector.CopyTo(filled, at);
            holes = Replace(holes, new ByteRange(at, sector.Length), held: true);
        }

        filled.CopyTo(into);
        return holes.Count < held.Holes.Count || holes.Sum(h => h.Length) < held.Holes.Sum(h => h.Length) ? new Held(Origin.Journal, holes) : held;
    }

    private static List<ByteRange> Replace(IReadOnlyList<ByteRange> holes, ByteRange part, bool held)
    {
        var left = new List<ByteRange>();
        foreach (ByteRange hole in holes)
        {
            if (hole.Offset < part.Offset)
                left.Add(ByteRange.Between(hole.Offset, Math.Min(hole.End, part.Offset)));
            if (hole.End > part.End)
                left.Add(ByteRange.Between(Math.Max(hole.Offset, part.End), hole.End));
        }

        if (!held)
            left.Add(part);
        left.Sort((a, b) => a.Offset.CompareTo(b.Offset));
        return left;
    }

    private ByteRange[] Holes(long offset, int length) =>
        [.. volume.Missing(new ByteRange(offset, length)).Select(h => new ByteRange(h.Offset - offset, h.Length))];
}
