using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Every physical sector that is still passed over, asked on its own.</summary>
internal sealed class Glean(ReadMap map, Geometry geometry) : Stage(map, geometry)
{
    public override StageName Name => StageName.Glean;

    public override IEnumerable<SectorRange> Ranges()
    {
        Settle();
        foreach (SectorRange found in Map.InState(SectorState.PassedOver, Map.Whole))
        {
            for (SectorRange left = found; !left.IsEmpty;)
            {
                SectorRange piece = FirstPiece(left, Geometry.Physical.Bytes);
                yield return piece;
                left = SectorRange.Between(piece.End, left.End);
            }
        }
    }
}
