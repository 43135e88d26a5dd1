namespace Turnstone.Patients.Faults;

/// <summary>Spends time on whichever clock a source has.</summary>
internal static class Waiting
{
    /// <summary>The limit, when it ends the wait before the answer comes; null when the answer comes in time.</summary>
    /// <exception cref="ArgumentException">Neither ever ends: such a wait would hang the caller for good.</exception>
    public static TimeSpan? Cut(TimeSpan answer, TimeSpan limit)
    {
        if (answer == Timeout.InfiniteTimeSpan && limit == Timeout.InfiniteTimeSpan)
            throw new ArgumentException("a silent source needs a limit: without one the read would never return", nameof(limit));
        bool cut = limit != Timeout.InfiniteTimeSpan && (answer == Timeout.InfiniteTimeSpan || limit < answer);
        return cut ? limit : null;
    }

    /// <summary>Lets the time pass and answers how long it was on the clock.</summary>
    public static TimeSpan On(TimeProvider clock, TimeSpan time)
    {
        long start = clock.GetTimestamp();
        if (clock is VirtualClock own)
            own.Spend(time);
        else if (time > TimeSpan.Zero)
            Task.Delay(time, clock).GetAwaiter().GetResult();
        return clock.GetElapsedTime(start);
    }
}
