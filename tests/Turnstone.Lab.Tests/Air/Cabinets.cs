using Turnstone.Lab.Air;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Air;

public class Cabinets
{
    private static readonly FaceBand Band = Air_classes.Table.Face;

    [Theory]
    // Flow = face × velocity; computed by a second program.
    [InlineData(1.2, 0.6, 0.36, 933.12, 549.2)]
    [InlineData(1.2, 0.6, 0.45, 1166.40, 686.5)]
    [InlineData(1.2, 0.6, 0.54, 1399.68, 823.8)]
    [InlineData(0.9, 0.6, 0.45, 874.80, 514.9)]
    [InlineData(0.61, 0.61, 0.45, 602.80, 354.8)]
    public void Flow_of_a_face(double width, double height, double velocity, double perHour, double cubicFeet)
    {
        FaceFlow flow = Flow(width, height, velocity);
        Assert.Equal(perHour, flow.Flow.CubicMetresPerHour, 0.01);
        Assert.Equal(cubicFeet, flow.Flow.CubicFeetPerMinute, 0.1);
    }

    [Fact]
    public void Changes_and_residence()
    {
        FaceFlow flow = Flow(1.2, 0.6, 0.45);
        Assert.Equal(2700, flow.ChangesPerHour(new Length(0.6)), 1e-6);
        Assert.Equal(1.33, flow.Residence(new Length(0.6)).TotalSeconds, 0.005);
    }

    [Fact]
    public void Readings_have_a_mean_a_spread_and_a_uniformity()
    {
        FaceFlow flow = Flow(1.2, 0.6, 0.44, 0.46, 0.47, 0.43, 0.45, 0.48);
        Assert.Equal((0.4550, 0.018708), (Math.Round(flow.Mean.MetresPerSecond, 4), Math.Round(flow.Spread.MetresPerSecond, 6)));
        Assert.Equal((95.89, 5.49), (Math.Round(flow.Uniformity * 100, 2), Math.Round(flow.WorstFromMean * 100, 2)));
        Assert.Equal(4, flow.PointsNeeded);
    }

    [Theory]
    // EU GMP Annex 1 (2008): 0.36 to 0.54 m/s.
    [InlineData(0.35, false)]
    [InlineData(0.36, true)]
    [InlineData(0.54, true)]
    [InlineData(0.55, false)]
    public void The_band_is_kept_or_not(double velocity, bool inBand) => Assert.Equal(inBand, Flow(1.2, 0.6, velocity).InBand);

    [Theory]
    // EN 1822-1: what an intact filter passes of room air at the limits of ISO 8 and 9.
    [InlineData("H14", 3_520_000, 176)]
    [InlineData("H13", 3_520_000, 1760)]
    [InlineData("H13", 35_200_000, 17_600)]
    public void Behind_a_filter(string name, double before, double behind) =>
        Assert.Equal(behind, Air_classes.Table.Filters.Classes.Single(c => c.Name == name).Behind(new Concentration(before)).PerCubicMetre, 1e-6);

    [Fact]
    public void An_overdue_check_is_reminded_of_on_the_day_after()
    {
        var day = new DateOnly(2026, 1, 10);
        CabinetLog log = Log(Check(CabinetCheckKind.Count, day), Check(CabinetCheckKind.Velocity, day), Check(CabinetCheckKind.Filter, day));
        Assert.Empty(log.Reminders(day.AddDays(180), Air_classes.Table.Checks));
        Assert.Equal(["bench 1: the particle count of 2026-01-10 is 1 day over its 180 days"], log.Reminders(day.AddDays(181), Air_classes.Table.Checks));
    }

    [Fact]
    public void A_check_that_was_never_made_or_was_bad_is_reminded_of()
    {
        var day = new DateOnly(2026, 1, 10);
        IReadOnlyList<string> reminders = Log(Check(CabinetCheckKind.Count, day) with { Good = false }, Check(CabinetCheckKind.Filter, day)).Reminders(day, Air_classes.Table.Checks);
        Assert.Equal(["bench 1: the last particle count (2026-01-10) was bad; open nothing in it", "bench 1: no velocity check is on record; open nothing in it before"], reminders);
    }

    private static CabinetLog Log(params CabinetCheck[] checks) => new() { Checks = checks };

    private static CabinetCheck Check(CabinetCheckKind kind, DateOnly on) => new("bench 1", kind, on, "R. Quell", Good: true, "");

    private static FaceFlow Flow(double width, double height, params double[] velocities) =>
        FaceFlow.Of(new Length(width), new Length(height), [.. velocities.Select(v => new Speed(v))], Band);
}
