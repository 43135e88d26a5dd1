using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Closes in on each passed-over range from both sides until a single physical sector is refused there.</summary>
/// <remarks>
/// Good ground costs milliseconds and a refusal seconds, so after the first failure of a piece its sectors are asked one
/// by one from the good side: at most two refusals an edge, where halving would cost about six.
/// A side whose neighbour is a refused sector was closed in on before.
/// </remarks>
internal sealed class Edges(ReadMap map, Geometry geometry) : Stage(map, geometry)
{
    private const int PieceBytes = 64 << 10;

    public override StageName Name => StageName.Edges;

    public override IEnumerable<SectorRange> Ranges()
    {
        Settle();
        foreach (SectorRange found in Map.InState(SectorState.PassedOver, Map.Whole))
        {
            SectorRange left = found;
            foreach (SectorRange range in FromStart(found))
            {
                yield return range;
                left = CameAtAll ? SectorRange.Between(range.End, found.End) : left;
            }

            foreach (SectorRange range in FromEnd(left))
                yield return range;
        }
    }

    private IEnumerable<SectorRange> FromStart(SectorRange found)
    {
        if (IsRefused(found.Start.Value - 1))
            yield break;
        for (SectorRange left = found; !left.IsEmpty; left = SectorRange.Between(Last!.Asked.End, left.End))
        {
            SectorRange piece = FirstPiece(left, PieceBytes);
            yield return piece;
            if (CameAtAll)
                continue;
            for (SectorRange rest = piece; !rest.IsEmpty; rest = SectorRange.Between(Last!.Asked.End, rest.End))
            {
                yield return FirstPiece(rest, Geometry.Physical.Bytes);
                if (!CameAtAll)
                    yield break;
            }
        }
    }

    private IEnumerable<SectorRange> FromEnd(SectorRange found)
    {
        if (found.IsEmpty || IsRefused(found.End.Value))
            yield break;
        for (SectorRange left = Rest(found); !left.IsEmpty; left = Rest(SectorRange.Between(left.Start, Last!.Asked.Start)))
        {
            SectorRange piece = LastPiece(left, PieceBytes);
            yield return piece;
            if (CameAtAll)
                continue;
            for (SectorRange rest = piece; !rest.IsEmpty; rest = SectorRange.Between(rest.Start, Last!.Asked.Start))
            {
                yield return LastPiece(rest, Geometry.Physical.Bytes);
                if (!CameAtAll)
                    yield break;
            }
        }
    }

    // What was refused on its own from the other side is not asked again.
    private SectorRange Rest(SectorRange range)
    {
        Lba start = range.Start;
        while (start < range.End && Map.RunAt(start) is var run && run.Mark.State == SectorState.Refused)
            start = run.Range.End;
        return start < range.End ? SectorRange.Between(start, range.End) : new SectorRange(range.Start, SectorCount.None);
    }

    private bool IsRefused(long sector) =>
        sector >= 0 && sector < Map.Whole.End.Value && Map[new Lba(sector)].State == SectorState.Refused;
}
