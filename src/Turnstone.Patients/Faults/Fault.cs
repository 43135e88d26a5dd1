using Turnstone.Media;

namespace Turnstone.Patients.Faults;

/// <summary>Sectors that do not answer as they should, laid over a source that would.</summary>
/// <param name="Where">The sectors; a read that touches any of them meets the fault.</param>
public sealed record Fault(SectorRange Where)
{
    /// <summary>Why a read is refused; <see cref="RefusalCause.Silence"/> means no answer at all, however long the caller waits.</summary>
    public RefusalCause Cause { get; init; } = RefusalCause.Medium;

    /// <summary>Whether the refusal names the first sector that could not be read.</summary>
    public bool NamesFirstBad { get; init; }

    /// <summary>How long the refusal takes; a caller whose limit is shorter gets silence at the limit.</summary>
    public TimeSpan Takes { get; init; }

    /// <summary>The ask, counted from 1, from which on the sectors answer; null when they never do.</summary>
    public int? GivesInOnAsk { get; init; }
}
