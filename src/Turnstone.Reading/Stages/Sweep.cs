using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Large blocks over all that was not asked: forwards with jumps away from trouble, backwards with jumps, then what the jumps left out.</summary>
/// <remarks>After a block that failed or was slow the next one lies further on each time, so that a bad area costs few questions at first.</remarks>
internal sealed class Sweep(ReadMap map, Geometry geometry) : Stage(map, geometry)
{
    private const long JumpBytesMax = 256L << 20;

    public override StageName Name => StageName.Sweep;

    public override IEnumerable<SectorRange> Ranges() =>
        Forwards(jumps: true).Concat(Backwards()).Concat(Forwards(jumps: false));

    private IEnumerable<SectorRange> Forwards(bool jumps)
    {
        Settle();
        long jump = 0;
        for (Lba at = Map.Whole.Start; NextOpen(at) is { } open;)
        {
            SectorRange piece = FirstPiece(open, BlockBytes);
            yield return piece;
            jump = jumps ? NextJump(jump) : 0;
            at = new Lba(Math.Min(piece.End.Value + jump, Map.Whole.End.Value));
        }
    }

    private IEnumerable<SectorRange> Backwards()
    {
        Settle();
        long jump = 0;
        for (Lba end = Map.Whole.End; LastOpen(end) is { } open;)
        {
            SectorRange piece = LastPiece(open, BlockBytes);
            yield return piece;
            jump = NextJump(jump);
            end = new Lba(Math.Max(piece.Start.Value - jump, 0));
        }
    }

    private long NextJump(long jump)
    {
        long block = BlockBytes / Geometry.Logical.Bytes;
        return CameWell ? 0 : Math.Min(Math.Max(block, jump * 2), JumpBytesMax / Geometry.Logical.Bytes);
    }

    // The map lags behind for blocks that are still on their way to the image; those lie behind the cursor.
    private SectorRange? NextOpen(Lba from)
    {
        for (Lba at = from; at < Map.Whole.End;)
        {
            MapRun run = Map.RunAt(at);
            if (run.Mark.State == SectorState.Unasked)
                return SectorRange.Between(at, run.Range.End);
            at = run.Range.End;
        }

        return null;
    }

    private SectorRange? LastOpen(Lba before)
    {
        for (Lba end = before; end > Map.Whole.Start;)
        {
            MapRun run = Map.RunAt(new Lba(end.Value - 1));
            if (run.Mark.State == SectorState.Unasked)
                return SectorRange.Between(run.Range.Start, end);
            end = run.Range.Start;
        }

        return null;
    }
}
