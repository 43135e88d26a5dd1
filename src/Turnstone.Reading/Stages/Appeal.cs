using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Refused sectors once more, from the end of the drive to its start, so that each is approached from its other side.</summary>
/// <remarks>Which sectors were asked how often stands in the map: begun again, a round goes on where it was left.</remarks>
internal sealed class Appeal(ReadMap map, Geometry geometry) : Stage(map, geometry)
{
    private const int AsksMax = 3;

    public override StageName Name => StageName.Appeal;

    public override IEnumerable<SectorRange> Ranges()
    {
        for (int asks = 1; asks < AsksMax; asks++)
        {
            Settle();
            for (Lba end = Map.Whole.End; end > Map.Whole.Start;)
            {
                MapRun run = Map.RunAt(new Lba(end.Value - 1));
                SectorRange left = SectorRange.Between(run.Range.Start, end);
                end = left.Start;
                if (run.Mark.State != SectorState.Refused || run.Mark.Asks > asks)
                    continue;
                for (; !left.IsEmpty; left = SectorRange.Between(left.Start, Last!.Asked.Start))
                    yield return LastPiece(left, Geometry.Physical.Bytes);
            }
        }
    }
}
