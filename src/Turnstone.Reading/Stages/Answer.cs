using Turnstone.Media;

namespace Turnstone.Reading.Stages;

/// <summary>What came of the last question, as far as the choice of the next one depends on it.</summary>
/// <param name="Asked">What was asked for.</param>
/// <param name="Cause">Why nothing came; null when bytes came.</param>
/// <param name="FirstBad">Where the source says that the trouble begins: a hint.</param>
/// <param name="IsSlow">Whether bytes came so late that the ground is suspect.</param>
internal sealed record Answer(SectorRange Asked, RefusalCause? Cause, Lba? FirstBad, bool IsSlow)
{
    public bool CameWell => Cause is null && !IsSlow;
}
