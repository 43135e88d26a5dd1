using Turnstone.Media;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Tests.Drives;

public sealed class ContentTests
{
    private static readonly TimeSpan Never = Timeout.InfiniteTimeSpan;

    [Fact]
    public void A_sector_has_the_same_bytes_however_it_is_read()
    {
        using var patient = new Patient(Drawn.Tiny());
        byte[] whole = new byte[512 * 100], one = new byte[512];
        patient.Read(SectorRange.Between(40, 140), whole, Never);
        for (int i = 0; i < 100; i++)
        {
            patient.Read(SectorRange.Between(40 + i, 41 + i), one, Never);
            Assert.True(whole.AsSpan(i * 512, 512).SequenceEqual(one));
        }
    }

    [Fact]
    public void Every_sector_differs_and_so_does_another_seed()
    {
        using var patient = new Patient(Drawn.Tiny());
        using var other = new Patient(Drawn.Tiny() with { Seed = 2 });
        byte[] a = new byte[512 * 1000], b = new byte[512 * 1000];
        patient.Read(SectorRange.Between(0, 1000), a, Never);
        other.Read(SectorRange.Between(0, 1000), b, Never);
        Assert.Equal(1000, a.Chunk(512).Select(Convert.ToHexString).Distinct().Count());
        Assert.NotEqual(a, b);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Wrong_bytes_come_as_if_they_were_right_and_change_or_stay(bool changing)
    {
        using var right = new Patient(Drawn.Tiny());
        using var patient = new Patient(Drawn.Tiny(new Damage.WrongBytes(1, 0.01, changing)));
        SectorRange whole = SectorRange.Between(0, 12_800);
        byte[] expected = new byte[512 * 12_800], first = new byte[512 * 12_800], second = new byte[512 * 12_800];
        right.Read(whole, expected, Never);
        patient.Read(whole, first, Never);
        patient.Read(whole, second, Never);
        HashSet<long> wrong = [.. patient.Truth.Wrong(whole).SelectMany(w => Enumerable.Range((int)w.Where.Start.Value, 8).Select(l => (long)l))];
        Assert.NotEmpty(wrong);
        for (int lba = 0; lba < 12_800; lba++)
            Assert.Equal(!wrong.Contains(lba), expected.AsSpan(lba * 512, 512).SequenceEqual(first.AsSpan(lba * 512, 512)));
        Assert.NotEqual(changing, first.AsSpan().SequenceEqual(second));
        Assert.All(wrong, lba => Assert.Equal(1, patient.Truth.HeadOf(new Lba(lba))));
    }

    [Fact]
    public void Ranges_never_written_read_as_zeros_at_once_and_the_map_is_one_to_one()
    {
        var scenario = Drawn.Small() with { Seed = 4 };
        scenario = scenario with { Drive = scenario.Drive with { Shingled = new ShingledSpec(30, 0.3, Dynamic: true, RewrittenShare: 0.2), CapacitySectors = null } };
        using var patient = new Patient(scenario);
        HeadRun empty = patient.Truth.Heads().First(r => r.Head is null);
        byte[] bytes = [.. Enumerable.Repeat((byte)1, 4096)];
        ReadOutcome outcome = patient.Read(new SectorRange(empty.Range.Start, new SectorCount(8)), bytes, Never);
        Assert.All(Assert.IsType<ReadOutcome.Bytes>(outcome).Data.ToArray(), b => Assert.Equal(0, b));
        // Shingled drives answer for such ranges within 0.3 ms and the transfer, faster than the media turns (from memory).
        Assert.True(outcome.Took < TimeSpan.FromMilliseconds(0.5));
        MappedRun[] runs = [.. patient.Drive.Map!.Runs.Where(r => !r.IsUnmapped).OrderBy(r => r.Media)];
        Assert.All(runs.Zip(runs.Skip(1)), pair => Assert.True(pair.First.Media + pair.First.End - pair.First.First <= pair.Second.Media));
        Assert.Equal(patient.Geometry.Capacity.Value, patient.Truth.Heads().Sum(r => r.Range.Count.Value));
    }
}
