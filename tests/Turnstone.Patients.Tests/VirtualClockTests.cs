namespace Turnstone.Patients.Tests;

public sealed class VirtualClockTests
{
    [Fact]
    public void Time_never_runs_backwards()
    {
        var clock = new VirtualClock();
        clock.Spend(TimeSpan.FromSeconds(1));
        Assert.Throws<ArgumentOutOfRangeException>(() => clock.Spend(TimeSpan.FromTicks(-1)));
        Assert.Equal(1_000_000_000, clock.GetTimestamp());
    }

    [Fact]
    public void A_timer_fires_at_its_moment_and_then_by_its_period()
    {
        var clock = new VirtualClock();
        var seen = new List<double>();
        using ITimer timer = clock.CreateTimer(_ => seen.Add(clock.Elapsed.TotalSeconds), null, TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(3));
        clock.Spend(TimeSpan.FromSeconds(9));
        Assert.Equal([2.0, 5.0, 8.0], seen);
        Assert.Equal(9, clock.Elapsed.TotalSeconds);
    }

    [Fact]
    public void A_timer_given_up_stays_still()
    {
        var clock = new VirtualClock();
        ITimer timer = clock.CreateTimer(_ => Assert.Fail("fired"), null, TimeSpan.FromSeconds(2), TimeSpan.Zero);
        timer.Dispose();
        clock.Spend(TimeSpan.FromSeconds(9));
        Assert.Equal(9, clock.Elapsed.TotalSeconds);
    }
}
