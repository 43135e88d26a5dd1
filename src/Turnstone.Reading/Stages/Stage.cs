using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Stages;

/// <summary>Stages of a read, in the order in which they come.</summary>
public enum StageName
{
    /// <summary>Partition tables and the file systems' skeleton.</summary>
    Survey,

    /// <summary>Large blocks where it goes well.</summary>
    Sweep,

    /// <summary>Closing in on passed-over ranges from both sides.</summary>
    Edges,

    /// <summary>Single physical sectors.</summary>
    Glean,

    /// <summary>Refused sectors once more.</summary>
    Appeal,
}

/// <summary>One way of choosing what to ask for next.</summary>
/// <remarks>
/// A stage only chooses. The engine asks, records and counts, and stops when it must; so a stage may be left at any
/// moment, and begun again it finds from the map what is left.
/// </remarks>
internal abstract class Stage(ReadMap map, Geometry geometry)
{
    /// <summary>Bytes of a large block.</summary>
    public const int BlockBytes = Recording.Recorder.BlockBytes;

    public abstract StageName Name { get; }

    /// <summary>Set by the engine before the next range is drawn.</summary>
    public Answer? Last { get; set; }

    /// <summary>Set by the engine: returns when the map shows all answers.</summary>
    public Action Settle { get; set; } = () => { };

    protected ReadMap Map => map;

    protected Geometry Geometry => geometry;

    /// <summary>Ranges to ask for, each no longer than a block; drawn one by one, <see cref="Last"/> holds the answer to the one before.</summary>
    public abstract IEnumerable<SectorRange> Ranges();

    /// <summary>Whether the last question brought bytes in good time.</summary>
    protected bool CameWell => Last is { CameWell: true };

    protected bool CameAtAll => Last is { Cause: null };

    /// <summary>The first piece of a range that ends at a multiple of the given bytes or at the range's end.</summary>
    protected SectorRange FirstPiece(SectorRange range, int bytes)
    {
        long step = bytes / geometry.Logical.Bytes;
        long boundary = ((range.Start.Value / step) + 1) * step;
        return SectorRange.Between(range.Start.Value, Math.Min(boundary, range.End.Value));
    }

    /// <summary>The last piece of a range that begins at a multiple of the given bytes or at the range's start.</summary>
    protected SectorRange LastPiece(SectorRange range, int bytes)
    {
        long step = bytes / geometry.Logical.Bytes;
        long boundary = (range.End.Value - 1) / step * step;
        return SectorRange.Between(Math.Max(boundary, range.Start.Value), range.End.Value);
    }
}
