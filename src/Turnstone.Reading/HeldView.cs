using Turnstone.Media;
using Turnstone.Media.Target;
using Turnstone.Reading.Map;

namespace Turnstone.Reading;

/// <summary>The image as far as the map calls it held; the rest is a hole.</summary>
/// <param name="map">The read map.</param>
/// <param name="image">The image that it speaks of.</param>
/// <param name="sectorSize">Logical sector size of the patient.</param>
public sealed class HeldView(ReadMap map, IImageTarget image, SectorSize sectorSize) : ISectorView
{
    /// <inheritdoc/>
    public long Length => map.Whole.Count.Bytes(sectorSize);

    /// <inheritdoc/>
    public SectorSize SectorSize => sectorSize;

    /// <inheritdoc/>
    public bool TryRead(long offset, Span<byte> into)
    {
        if (into.IsEmpty)
            return true;
        if (offset < 0 || offset > Length - into.Length)
            return ReadEdge(offset, into);
        var range = new ByteRange(offset, into.Length);
        if (IsHeld(range))
        {
            image.Read(offset, into);
            return true;
        }

        ReadHeldParts(range, into);
        return false;
    }

    /// <inheritdoc/>
    public IEnumerable<ByteRange> Missing(ByteRange range)
    {
        ByteRange open = default;
        foreach (MapRun run in map.Runs(range.Intersect(new ByteRange(0, Length)).Sectors(sectorSize)))
        {
            ByteRange part = run.Range.Bytes(sectorSize).Intersect(range);
            if (run.Mark.State != SectorState.Held)
                open = open.IsEmpty ? part : ByteRange.Between(open.Offset, part.End);
            else if (!open.IsEmpty)
            {
                yield return open;
                open = default;
            }
        }

        if (range.End > Length)
            open = ByteRange.Between(open.IsEmpty ? Math.Max(range.Offset, Length) : open.Offset, range.End);
        if (!open.IsEmpty)
            yield return open;
    }

    // Most questions fall into one run: no list is made for them.
    private bool IsHeld(ByteRange range)
    {
        SectorRange sectors = range.Sectors(sectorSize);
        for (Lba at = sectors.Start; at < sectors.End;)
        {
            MapRun run = map.RunAt(at);
            if (run.Mark.State != SectorState.Held)
                return false;
            at = run.Range.End;
        }

        return true;
    }

    private void ReadHeldParts(ByteRange range, Span<byte> into)
    {
        into.Clear();
        foreach (SectorRange held in map.InState(SectorState.Held, range.Sectors(sectorSize)))
        {
            ByteRange part = held.Bytes(sectorSize).Intersect(range);
            image.Read(part.Offset, into.Slice((int)(part.Offset - range.Offset), (int)part.Length));
        }
    }

    // The question reaches outside: answer what lies inside, and no.
    private bool ReadEdge(long offset, Span<byte> into)
    {
        into.Clear();
        if (offset >= 0 && offset < Length)
            TryRead(offset, into[..(int)(Length - offset)]);
        return false;
    }
}
