using Turnstone.Media;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests.Timing;

/// <summary>Published ways to find a drive's geometry from times alone, run on patients of the published parameters.</summary>
/// <remarks>
/// H. Wong, Discovering Hard Disk Physical Geometry through Microbenchmarking, 2019: the oldest drive of the study has
/// 45 MB, 3602 turns a minute, 26 sectors a track, 6 surfaces and no skew. Talagala, Arpaci-Dusseau and Patterson,
/// Microbenchmark-based Extraction of Local and Global Disk Characteristics, 1999: single reads whose stride grows
/// (shape of the result from memory). No published table of tracks per band was found: that period is checked against its own arithmetic.
/// </remarks>
public sealed class MicrobenchmarkTests
{
    private static readonly TimeSpan Never = Timeout.InfiniteTimeSpan;

    [Fact]
    public void The_oldest_drive_of_the_study_holds_45_megabytes()
    {
        using Patient patient = Oldest();
        Assert.Equal(45e6, patient.Geometry.WholeBytes.Length, 0.1e6);
    }

    [Fact]
    public void One_sector_over_and_over_takes_a_turn_each_time()
    {
        using Patient patient = Oldest();
        long[] times = [.. Enumerable.Range(0, 20).Select(_ => patient.Ask(SectorRange.Between(500, 501), Never).Nanoseconds)];
        Assert.All(times[1..], t => Assert.Equal(60e9 / 3602, t, 2.0));
    }

    [Fact]
    public void Pairs_of_sectors_show_26_angles_and_the_same_again_on_each_surface()
    {
        using Patient patient = Oldest();
        double turn = 60e9 / 3602;
        int[] angles = [.. Enumerable.Range(0, 26 * 6).Select(sector =>
        {
            patient.Ask(SectorRange.Between(0, 1), Never);
            double step = patient.Ask(SectorRange.Between(sector, sector + 1), Never).Nanoseconds / turn * 26;
            return (int)Math.Round(step) % 26;
        })];
        Assert.Equal(Enumerable.Range(0, 26 * 6).Select(s => s % 26), angles);
    }

    [Fact]
    public void Growing_strides_climb_by_a_sectors_time_and_drop_by_one_turn()
    {
        Scenario scenario = DataSheetTests.Bare(5400, 0.01, 300);
        using var patient = new Patient(scenario with { Timing = scenario.Timing with { CommandMilliseconds = 2.05 } });
        double turn = 60e9 / 5400, sector = turn / 100;
        long at = 0;
        patient.Ask(SectorRange.Between(0, 8), Never);
        var times = new List<double>();
        for (int stride = 1; stride < 100; stride++)
        {
            at += stride * 8;
            times.Add(patient.Ask(SectorRange.Between(at, at + 8), Never).Nanoseconds);
        }

        double[] steps = [.. times.Skip(1).Zip(times, (next, before) => next - before)];
        // 2.05 ms are 18.45 sectors: stride 20 leaves 19 between two reads and is the first that the command is in time for.
        Assert.All(steps, (s, i) => Assert.Equal(i == 18 ? sector - turn : sector, s, 10.0));
    }

    [Fact]
    public void Large_reads_at_spaced_points_show_the_zones_as_steps()
    {
        var drive = new DriveSpec { Surfaces = 2, Zones = [new ZoneSpec(200, 500, 20), new ZoneSpec(200, 400, 20), new ZoneSpec(200, 300, 20)], TrackSkew = 0.15, HeadSkew = 0.25 };
        using var patient = new Patient(DataSheetTests.Bare(5400, 1, 1) with { Drive = drive });
        double turn = 60 / 5400.0;
        long start = 0;
        foreach (ZoneSpec zone in drive.Zones)
        {
            long sectors = 2L * zone.Tracks * zone.SectorsPerTrack * 8;
            double expected = zone.SectorsPerTrack * 4096 / (turn * (1 + 0.15 + (0.1 / 20)));
            Assert.Equal(expected, DataSheetTests.Rate(patient, start, start + sectors), expected * 0.003);
            start += sectors;
        }
    }

    // Chung et al., Windows 2000 Disk IO Performance: inner over outer throughput of two drives, 0.65 and 0.60.
    [Theory]
    [InlineData(0.65)]
    [InlineData(0.60)]
    public void Throughput_falls_by_the_published_ratio(double ratio)
    {
        var drive = new DriveSpec { Surfaces = 4, Zones = Presets.EvenZones(1600, 400, (int)(400 * ratio), 16, 20), TrackSkew = 0.15, HeadSkew = 0.25 };
        using var patient = new Patient(DataSheetTests.Bare(7200, 1, 1) with { Drive = drive });
        long capacity = patient.Geometry.Capacity.Value, zone = capacity / 40;
        Assert.Equal(ratio, DataSheetTests.Rate(patient, capacity - zone, capacity) / DataSheetTests.Rate(patient, 0, zone), 0.02);
    }

    // Worked out by hand for ten heads of 432 sectors: 100 tracks are 177 MB, and the band is ten times that.
    [Fact]
    public void Switches_between_heads_come_with_the_period_of_the_band()
    {
        DriveSpec drive = Presets.Portable.Drive with { DensitySpread = 0, CapacitySectors = null };
        using var patient = new Patient(DataSheetTests.Bare(5400, 1, 1) with { Drive = drive });
        patient.Ask(SectorRange.Between(0, 128), Never);
        double turn = 60e9 / 5400, block = 16.0 / 432 * turn;
        var switches = new List<double>();
        for (long at = 128; at < 2_000_000_000 / 512; at += 128)
        {
            double extra = patient.Ask(SectorRange.Between(at, at + 128), Never).Nanoseconds - block;
            if (extra > 0.2 * turn)
                switches.Add(at * 512 / 1e6);
        }

        Assert.Equal(11, switches.Count);
        Assert.All(switches.Skip(1).Zip(switches, (next, before) => next - before), gap => Assert.Equal(177, gap, 0.5));
    }

    private static Patient Oldest() => new(DataSheetTests.Bare(3602, 1, 1) with
    {
        Drive = new DriveSpec { Surfaces = 6, PhysicalSectorBytes = 512, Zones = [new ZoneSpec(563, 26, 1)] },
    });
}
