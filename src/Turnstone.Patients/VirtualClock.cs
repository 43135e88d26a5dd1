namespace Turnstone.Patients;

/// <summary>Time that passes only when somebody spends it: a simulated patient's reads, or a caller that waits.</summary>
/// <remarks>
/// Counts whole nanoseconds from 2000-01-01 00:00 UTC, an arbitrary day that shows in no result. Never runs backwards.
/// A timer fires, on the thread that spends the time, as soon as its moment has passed. Not safe for several threads.
/// </remarks>
public sealed class VirtualClock : TimeProvider
{
    private const long PerSecond = 1_000_000_000;
    private static readonly DateTimeOffset Start = new(2000, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private readonly List<VirtualTimer> _timers = [];

    /// <summary>Nanoseconds spent so far.</summary>
    public long Nanoseconds { get; private set; }

    /// <summary>Time spent so far.</summary>
    public TimeSpan Elapsed => TimeSpan.FromTicks(Nanoseconds / TimeSpan.NanosecondsPerTick);

    /// <inheritdoc/>
    public override long TimestampFrequency => PerSecond;

    /// <inheritdoc/>
    public override TimeZoneInfo LocalTimeZone => TimeZoneInfo.Utc;

    /// <summary>Spends time.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A negative time.</exception>
    public void Spend(TimeSpan time) => SpendNanoseconds(checked(time.Ticks * TimeSpan.NanosecondsPerTick));

    /// <inheritdoc/>
    public override long GetTimestamp() => Nanoseconds;

    /// <inheritdoc/>
    public override DateTimeOffset GetUtcNow() => Start + Elapsed;

    /// <inheritdoc/>
    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        var timer = new VirtualTimer(this, callback, state);
        timer.Change(dueTime, period);
        return timer;
    }

    internal void SpendNanoseconds(long nanoseconds)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(nanoseconds);
        long end = checked(Nanoseconds + nanoseconds);
        while (_timers.Count > 0 && _timers.MinBy(t => t.Due) is { } next && next.Due <= end)
        {
            Nanoseconds = Math.Max(Nanoseconds, next.Due);
            next.Fire();
        }

        // A callback may itself have spent time.
        Nanoseconds = Math.Max(Nanoseconds, end);
    }

    private sealed class VirtualTimer(VirtualClock clock, TimerCallback callback, object? state) : ITimer
    {
        private TimeSpan _period;

        public long Due { get; private set; }

        public bool Change(TimeSpan dueTime, TimeSpan period)
        {
            clock._timers.Remove(this);
            _period = period;
            if (dueTime == Timeout.InfiniteTimeSpan)
                return true;
            Due = clock.Nanoseconds + (dueTime.Ticks * TimeSpan.NanosecondsPerTick);
            clock._timers.Add(this);
            return true;
        }

        public void Fire()
        {
            // A period of zero means once, as with the platform's own timers.
            Change(_period > TimeSpan.Zero ? _period : Timeout.InfiniteTimeSpan, _period);
            callback(state);
        }

        public void Dispose() => clock._timers.Remove(this);

        public ValueTask DisposeAsync()
        {
            Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
