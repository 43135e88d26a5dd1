using Turnstone.Media;

namespace Turnstone.Reading.Map;

/// <summary>First sector and mark of a run in eight bytes, so that millions of runs stay small. It reaches to the next run's start.</summary>
/// <remarks>48 bits of address (enough for 2^57 bytes), 8 of asks, 4 of state, 4 of cause (0 for none).</remarks>
internal readonly record struct PackedRun
{
    /// <summary>Largest capacity that can be mapped.</summary>
    public const long MaxSectors = 1L << 48;

    private readonly ulong _bits;

    public PackedRun(long start, MapMark mark) =>
        _bits = ((ulong)start << 16) | ((ulong)mark.Asks << 8) | ((ulong)mark.State << 4) | (mark.Cause is { } cause ? (ulong)cause + 1 : 0);

    public long Start => (long)(_bits >> 16);

    public MapMark Mark => new((SectorState)((_bits >> 4) & 15), (_bits & 15) == 0 ? null : (RefusalCause)((_bits & 15) - 1), (byte)(_bits >> 8));
}
