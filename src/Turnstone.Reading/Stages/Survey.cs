using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Says where the structures lie that tell of everything else. The file systems know; the read does not.</summary>
public interface IReadGuide
{
    /// <summary>Bytes to ask for first, most telling first, as far as what is held shows them. Asked again after each round.</summary>
    IEnumerable<ByteRange> AskFirst(ISectorView held);
}

/// <summary>Asks for both ends of the drive, then for what the guide names, until it names nothing new.</summary>
internal sealed class Survey(ReadMap map, Geometry geometry, IReadGuide? guide, ISectorView view) : Stage(map, geometry)
{
    // A folder inside a folder takes a round each; deeper trees are read by the sweep.
    private const int RoundsMax = 64;
    private const int PieceBytes = 64 << 10;

    public override StageName Name => StageName.Survey;

    public override IEnumerable<SectorRange> Ranges()
    {
        ByteRange whole = Geometry.WholeBytes;
        var ends = new[] { new ByteRange(0, BlockBytes), ByteRange.Between(Math.Max(0, whole.Length - BlockBytes), whole.Length) };
        foreach (SectorRange range in Unasked(ends))
            yield return range;

        for (int round = 0; guide is not null && round < RoundsMax; round++)
        {
            bool any = false;
            foreach (SectorRange range in Unasked(guide.AskFirst(view)))
            {
                any = true;
                yield return range;
            }

            if (!any)
                yield break;
        }
    }

    private IEnumerable<SectorRange> Unasked(IEnumerable<ByteRange> wanted)
    {
        foreach (ByteRange bytes in wanted)
        {
            // Two structures may share a piece: the second finds it in the map, not still on its way there.
            Settle();
            SectorRange around = Around(bytes.Intersect(Geometry.WholeBytes));
            foreach (SectorRange open in Map.InState(SectorState.Unasked, around))
            {
                for (SectorRange left = open; !left.IsEmpty;)
                {
                    SectorRange piece = FirstPiece(left, BlockBytes);
                    yield return piece;
                    left = SectorRange.Between(piece.End, left.End);
                }
            }
        }
    }

    // Small structures lie close together: whole pieces around them cost one question instead of many.
    private SectorRange Around(ByteRange bytes)
    {
        if (bytes.IsEmpty)
            return bytes.Sectors(Geometry.Logical);
        long start = bytes.Offset / PieceBytes * PieceBytes, end = (bytes.End + PieceBytes - 1) / PieceBytes * PieceBytes;
        return ByteRange.Between(start, Math.Min(end, Geometry.WholeBytes.Length)).Sectors(Geometry.Logical);
    }
}
