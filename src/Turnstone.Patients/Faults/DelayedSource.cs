using Turnstone.Media;

namespace Turnstone.Patients.Faults;

/// <summary>A source whose every answer comes later: a slow bridge, or media that need many tries.</summary>
/// <param name="inner">What answers; owned from now on.</param>
/// <param name="delay">Wait before each read, spent on the source's own clock; a caller whose limit is shorter gets silence.</param>
public sealed class DelayedSource(IBlockSource inner, TimeSpan delay) : IBlockSource
{
    /// <inheritdoc/>
    public SourceIdentity Identity => inner.Identity;

    /// <inheritdoc/>
    public Geometry Geometry => inner.Geometry;

    /// <inheritdoc/>
    public TimeProvider Clock => inner.Clock;

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        TimeSpan? cut = Waiting.Cut(delay, limit);
        TimeSpan waited = Waiting.On(Clock, cut ?? delay);
        if (cut is not null)
            return new ReadOutcome.Silent { Asked = range, Took = waited };
        TimeSpan left = limit == Timeout.InfiniteTimeSpan ? limit : TimeSpan.FromTicks(Math.Max(0, (limit - waited).Ticks));
        ReadOutcome outcome = inner.Read(range, into, left);
        return outcome with { Took = outcome.Took + waited };
    }

    /// <inheritdoc/>
    public void Dispose() => inner.Dispose();
}
