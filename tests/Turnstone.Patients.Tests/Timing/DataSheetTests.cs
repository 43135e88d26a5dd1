using Turnstone.Media;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Tests.Timing;

/// <summary>A patient's times against what data sheets and specifications print.</summary>
public sealed class DataSheetTests
{
    private static readonly TimeSpan Never = Timeout.InfiniteTimeSpan;

    // Hitachi Travelstar 5K320 specification, table 8: 5400 turns a minute, average latency 5.5 ms. IBM DDRS, figure 8: 7200 and 4.17 ms.
    [Theory]
    [InlineData(5400, 5.5)]
    [InlineData(7200, 4.17)]
    public void Mean_latency_is_half_a_turn_as_printed(double rpm, double milliseconds)
    {
        using var patient = new Patient(Bare(rpm, seek: 0.01, cylinders: 1));
        Assert.Equal(milliseconds, MeanOfRandomReads(patient, 4000), 0.1);
    }

    // Same specification, tables 5 to 7: one track 1.0 ms, average 12 ms, full stroke 20 ms.
    [Fact]
    public void Seeks_are_those_of_the_specification()
    {
        using var patient = new Patient(Bare(5400, 1, 20_000) with { Timing = Bare(5400, 1, 1).Timing with { SeekTrackMilliseconds = 1, SeekAverageMilliseconds = 12, SeekFullMilliseconds = 20 } });
        double latency = 60_000 / 5400.0 / 2;
        Assert.Equal(12 + latency, MeanOfRandomReads(patient, 4000), 0.35);
        var curve = new SeekCurve(Presets.Slow, 20_000);
        Assert.Equal(1.0, curve.Milliseconds(1), 0.2);
        Assert.Equal(20.0, curve.Milliseconds(20_000), 0.01);
    }

    // The three rows worked out beside the curve in the drive handbook: a, b and the mean over random pairs of tracks.
    [Theory]
    [InlineData(1, 12, 20)]
    [InlineData(1.5, 13, 24)]
    [InlineData(0.8, 8.5, 17)]
    public void The_seek_curve_has_the_asked_mean(double track, double average, double full)
    {
        var curve = new SeekCurve(Presets.Slow with { SeekTrackMilliseconds = track, SeekAverageMilliseconds = average, SeekFullMilliseconds = full }, 1000);
        // Distance of two random tracks: density 2 (1 - x).
        double mean = Enumerable.Range(1, 1000).Sum(d => curve.Milliseconds(d) * 2 * (1 - (d / 1000.0)) / 1000);
        Assert.Equal(average, mean, 0.05);
    }

    // IBM's specifications give the sustained rate as A / (B + C + D): bytes of a cylinder over (surfaces - 1) head
    // switches, one cylinder change and as many turns as surfaces (as quoted by the press). Here each change takes a fifth of a turn.
    [Fact]
    public void Sustained_rate_is_the_specifications_formula()
    {
        Scenario scenario = Bare(7200, 1, 200) with { Drive = new DriveSpec { Surfaces = 4, Zones = [new ZoneSpec(200, 100, 1)], HeadSkew = 0.2, TrackSkew = 0.2 } };
        using var patient = new Patient(scenario);
        double turn = 60 / 7200.0, expected = 4 * 100 * 4096 / ((3 * 0.2 * turn) + (0.2 * turn) + (4 * turn));
        Assert.Equal(expected, Rate(patient, 0, patient.Geometry.Capacity.Value), expected * 0.005);
    }

    // 2.5-inch drives of 5400 turns: 130 to 140 MB/s outside and 60 to 70 inside, 3.5-inch of 7200: 180 to 230 and 85 to 115
    // (common values, from memory; a portable is listed at 130 by the trade press).
    [Theory]
    [InlineData("portable-4tb", 130, 140, 60, 70)]
    [InlineData("desktop-8tb", 180, 230, 85, 115)]
    public void Presets_read_at_the_usual_rates_of_their_kind(string name, double outerLeast, double outerMost, double innerLeast, double innerMost)
    {
        Preset preset = Presets.All.Single(p => p.Name == name);
        using var patient = new Patient(new Scenario { Name = name, Seed = 3, Drive = preset.Drive, Timing = preset.Timing });
        // Whole bands, so that fast and slow heads even out.
        long length = 6_000_000, capacity = patient.Geometry.Capacity.Value;
        Assert.InRange(Rate(patient, 0, length) / 1e6, outerLeast, outerMost);
        Assert.InRange(Rate(patient, capacity - length, capacity) / 1e6, innerLeast, innerMost);
    }

    [Fact]
    public void Reads_that_follow_each_other_lose_no_turn()
    {
        using var patient = new Patient(Bare(5400, 1, 100));
        patient.Ask(SectorRange.Between(0, 256), Never);
        double turn = 60_000 / 5400.0, milliseconds = patient.Ask(SectorRange.Between(256, 512), Never).Took.TotalMilliseconds;
        Assert.Equal(32 * turn / 100, milliseconds, 0.05);
    }

    /// <summary>A drive of one surface without noise, missed turns, overhead or a buffer.</summary>
    internal static Scenario Bare(double rpm, double seek, int cylinders) => new()
    {
        Name = "bare",
        Seed = 1,
        Drive = new DriveSpec { Surfaces = 1, Zones = [new ZoneSpec(cylinders, 100, cylinders)] },
        Timing = new TimingSpec
        {
            Rpm = rpm,
            SeekTrackMilliseconds = seek,
            SeekAverageMilliseconds = seek,
            SeekFullMilliseconds = seek,
            HeadSwitchMilliseconds = 0.01,
            CommandMilliseconds = 0,
            CommandNoiseMilliseconds = 0,
            MissedTurnChance = 0,
            InterfaceMegabytesPerSecond = 100_000,
            ReadAheadKibibytes = 0,
        },
    };

    internal static double Rate(Patient patient, long from, long end)
    {
        patient.Ask(SectorRange.Between(from, from + 8), Never);
        long start = patient.VirtualClock.Nanoseconds;
        for (long at = from + 8; at < end; at += 2048)
            patient.Ask(SectorRange.Between(at, Math.Min(end, at + 2048)), Never);
        return (end - from - 8) * 512 / ((patient.VirtualClock.Nanoseconds - start) / 1e9);
    }

    private static double MeanOfRandomReads(Patient patient, int reads)
    {
        var random = new Random(1);
        long sectors = patient.Geometry.Capacity.Value / 8;
        double transfer = 60_000 / 5400.0 / 100;
        double total = 0;
        for (int i = 0; i < reads; i++)
        {
            long at = random.NextInt64(sectors) * 8;
            total += patient.Ask(SectorRange.Between(at, at + 8), Never).Nanoseconds / 1e6;
        }

        return (total / reads) - transfer;
    }
}
