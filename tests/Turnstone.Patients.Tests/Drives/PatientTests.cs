using System.Text;
using Turnstone.Media;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Tests.Drives;

public sealed class PatientTests
{
    private static readonly TimeSpan Never = Timeout.InfiniteTimeSpan;

    private static readonly Damage[] Everything =
    [
        new Damage.Latent(20), new Damage.Ring([1], 100, 3), new Damage.Arc(2, 500, 200, 0.9, 0.2, 0.001), new Damage.Particles(0, 20, 5),
        new Damage.WeakHead(3, 3.2) { Hazard = HazardSpec.Crashing }, new Damage.Hangs(30_000, HangCure.Reset), new Damage.Stubborn(50, 3, false),
        new Damage.WrongBytes(0, 1e-4, true),
    ];

    [Fact]
    public void Same_seed_and_same_reads_give_the_same_log_byte_for_byte()
    {
        string first = Log(Drawn.Small(Everything), 77);
        Assert.Equal(first, Log(Drawn.Small(Everything), 77));
        Assert.NotEqual(first, Log(Drawn.Small(Everything) with { Seed = 2 }, 77));
        Assert.Contains("Refused", first, StringComparison.Ordinal);
        Assert.Contains("Silent", first, StringComparison.Ordinal);
    }

    [Fact]
    public void Reading_bytes_takes_the_same_time_as_asking()
    {
        using var asked = new Patient(Drawn.Small(Everything));
        using var read = new Patient(Drawn.Small(Everything));
        using var buffer = new SectorBuffer(1 << 20);
        foreach (SectorRange range in Reads(asked.Geometry, 3).Take(300))
        {
            Answer answer = asked.Ask(range, TimeSpan.FromSeconds(5));
            ReadOutcome outcome = read.Read(range, buffer.Memory, TimeSpan.FromSeconds(5));
            Assert.Equal(answer.Took, outcome.Took);
            Assert.Equal(answer.IsGiven, outcome is ReadOutcome.Bytes);
        }

        Assert.Equal(asked.VirtualClock.Nanoseconds, read.VirtualClock.Nanoseconds);
    }

    [Fact]
    public void Virtual_time_only_moves_forward() =>
        Gen.Select(Drawn.Drive, Gen.ULong[1, 1000]).Sample((drive, seed) =>
        {
            using var patient = new Patient(Drawn.Tiny(new Damage.Latent(5), new Damage.Hangs(2, HangCure.Reset), new Damage.SlowMedia(3)) with { Drive = drive, Seed = seed });
            long before = 0;
            foreach (SectorRange range in Reads(patient.Geometry, (int)seed).Take(50))
            {
                Answer answer = patient.Ask(range, TimeSpan.FromSeconds(1));
                Assert.True(answer.Nanoseconds >= 0);
                Assert.Equal(before += answer.Nanoseconds, patient.VirtualClock.Nanoseconds);
            }
        });

    [Fact]
    public void The_sectors_of_a_dead_head_are_refused_and_no_others() =>
        Gen.Select(Drawn.Drive, Gen.Int[0, 5]).Sample((drive, dead) =>
        {
            dead %= drive.Surfaces;
            using var patient = new Patient(Drawn.Tiny(new Damage.DeadHead(dead)) with { Drive = drive });
            for (long lba = 0; lba < patient.Geometry.Capacity.Value; lba += 8)
            {
                bool given = patient.Ask(SectorRange.Between(lba, lba + 8), Never).IsGiven;
                Assert.Equal(patient.Truth.HeadOf(new Lba(lba)) != dead, given);
            }
        }, iter: 40);

    [Fact]
    public void What_the_truth_calls_lost_is_refused_and_all_else_can_be_had()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.Ring([0], 10, 2), new Damage.Arc(1, 5, 20, 0.3, 0.1, 0.01), new Damage.Latent(3), new Damage.DeadHead(1)));
        SectorRange[] lost = [.. patient.Truth.Lost()];
        for (long lba = 0; lba < patient.Geometry.Capacity.Value; lba += 8)
        {
            bool given = Enumerable.Range(0, 60).Any(_ => patient.Ask(SectorRange.Between(lba, lba + 8), Never).IsGiven);
            Assert.NotEqual(lost.Any(r => r.Contains(new Lba(lba))), given);
        }
    }

    [Fact]
    public void One_bad_physical_sector_takes_its_eight_logical_ones_along()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.Run(1603, 1)));
        bool[] given = [.. Enumerable.Range(1592, 24).Select(lba => patient.Ask(SectorRange.Between(lba, lba + 1), Never).IsGiven)];
        Assert.Equal([.. Enumerable.Repeat(true, 8), .. Enumerable.Repeat(false, 8), .. Enumerable.Repeat(true, 8)], given);
        Assert.Equal(new Lba(1600), patient.Ask(SectorRange.Between(1500, 1700), Never).FirstBad);
    }

    [Fact]
    public void A_hang_lasts_until_the_power_is_cut()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.Hangs(400, HangCure.Power)));
        SectorRange whole = patient.Geometry.Whole;
        Assert.Equal(AnswerKind.Silent, patient.Ask(whole, TimeSpan.FromSeconds(30)).Kind);
        Assert.All(Enumerable.Range(0, 20), i => Assert.Equal(AnswerKind.Silent, patient.Ask(SectorRange.Between(i, i + 1), TimeSpan.FromSeconds(30)).Kind));
        patient.CyclePower();
        Assert.Contains(Enumerable.Range(0, 20), i => patient.Ask(SectorRange.Between(i, i + 1), TimeSpan.FromSeconds(30)).IsGiven);
    }

    [Fact]
    public void A_stubborn_sector_answers_on_the_chosen_ask_and_one_kind_only_backwards()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.Stubborn(1, 3, OnlyBackwards: false)));
        long at = StubbornSector(patient);
        // It was asked once while it was looked for.
        Assert.Equal([false, true, true], Enumerable.Range(0, 3).Select(_ => patient.Ask(SectorRange.Between(at, at + 8), Never).IsGiven));

        using var other = new Patient(Drawn.Tiny(new Damage.Stubborn(1, 1, OnlyBackwards: true)));
        at = StubbornSector(other);
        Assert.False(other.Ask(SectorRange.Between(at, at + 8), Never).IsGiven);
        other.Ask(SectorRange.Between(at + 800, at + 808), Never);
        Assert.True(other.Ask(SectorRange.Between(at, at + 8), Never).IsGiven);
    }

    [Fact]
    public void A_stressed_head_dies_sooner()
    {
        Assert.True(WorkUntilDeath(1) < WorkUntilDeath(5) / 2);

        static int WorkUntilDeath(int fromTrack)
        {
            var sick = new Damage.WeakHead(0, 6) { DiesAfterSeconds = 20, Hazard = HazardSpec.None with { StressFactor = 20 } };
            using var patient = new Patient(Drawn.Tiny(sick, new Damage.Arc(0, 1, 1, 0.5, 0.02, 0)));
            long near = patient.Truth.Layout.Find(new Place(0, fromTrack, 0, 0)) * 8, far = patient.Truth.Layout.Find(new Place(0, 30, 0, 0)) * 8;
            int reads = 0;
            for (; !patient.Truth.IsDead(0); reads++)
            {
                // To and fro, or the drive would answer out of its buffer.
                long at = reads % 2 == 0 ? near : far;
                patient.Ask(SectorRange.Between(at, at + 8), Never);
            }

            return reads;
        }
    }

    [Fact]
    public void A_head_that_died_stays_dead_over_a_power_cycle()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.WeakHead(0, 6) { DiesAfterSeconds = 0 }));
        Assert.False(patient.Ask(SectorRange.Between(0, 8), Never).IsGiven);
        patient.CyclePower();
        Assert.False(patient.Ask(SectorRange.Between(0, 8), Never).IsGiven);
        Assert.True(patient.Truth.IsDead(0));
    }

    [Fact]
    public void The_limit_cuts_a_long_recovery_and_the_reset_is_paid_later()
    {
        using var patient = new Patient(Drawn.Tiny(new Damage.Run(0, 8)));
        Answer cut = patient.Ask(SectorRange.Between(0, 8), TimeSpan.FromMilliseconds(100));
        Assert.Equal((AnswerKind.Silent, 100_000_000L), (cut.Kind, cut.Nanoseconds));
        Assert.InRange(patient.Ask(SectorRange.Between(800, 808), Never).Took.TotalSeconds, 2, 2.1);
    }

    [Fact]
    public void A_drive_with_a_recovery_limit_answers_within_it()
    {
        Scenario scenario = Drawn.Tiny(new Damage.Run(0, 8));
        using var patient = new Patient(scenario with { Timing = scenario.Timing with { RecoveryLimitSeconds = 0.2 } });
        Assert.InRange(patient.Ask(SectorRange.Between(0, 8), Never).Took.TotalSeconds, 0.2, 0.25);
    }

    private static long StubbornSector(Patient patient) =>
        Enumerable.Range(0, (int)patient.Geometry.Capacity.Value / 8).Select(i => i * 8L).First(lba => !patient.Ask(SectorRange.Between(lba, lba + 8), Never).IsGiven);

    private static IEnumerable<SectorRange> Reads(Geometry geometry, int seed)
    {
        var random = new Random(seed);
        for (long next = 0; ;)
        {
            if (random.Next(4) == 0 || next >= geometry.Capacity.Value)
                next = random.NextInt64(geometry.Capacity.Value);
            long end = Math.Min(geometry.Capacity.Value, next + 1 + random.Next(2048));
            yield return SectorRange.Between(next, end);
            next = end;
        }
    }

    private static string Log(Scenario scenario, int reads)
    {
        using var patient = new Patient(scenario);
        using var buffer = new SectorBuffer(1 << 20);
        var log = new StringBuilder();
        foreach (SectorRange range in Reads(patient.Geometry, reads).Take(700))
        {
            ReadOutcome outcome = patient.Read(range, buffer.Memory, TimeSpan.FromSeconds(3));
            log.AppendLine(outcome.Match(
                b => $"{range} bytes {Convert.ToHexString(System.Security.Cryptography.SHA256.HashData(b.Data.Span))}",
                r => $"{range} {r.GetType().Name} {r.Cause} {r.FirstBad}",
                s => $"{range} {s.GetType().Name}"));
            log.AppendLine(patient.VirtualClock.Nanoseconds.ToString());
        }

        return log.ToString();
    }
}
