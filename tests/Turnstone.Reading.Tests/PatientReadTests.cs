using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Patients.Faults;
using Turnstone.Reading.Map;
using Turnstone.Reading.Stages;

namespace Turnstone.Reading.Tests;

public class PatientReadTests
{
    [Fact]
    public void A_healthy_patient_is_read_once_and_whole()
    {
        MemorySource patient = MemorySource.OfSectors(9000);
        using var reads = new Reads(patient);
        Assert.Equal(ReadEnd.Finished, reads.Sit());
        Assert.Equal(9000, reads.Sectors(SectorState.Held).Length);
        Assert.Equal(9000, patient.Asked.Sum(range => range.Count.Value));
        reads.AssertTrue();
    }

    [Theory]
    [InlineData(512, 512)]
    [InlineData(512, 4096)]
    [InlineData(4096, 4096)]
    public void Exactly_the_bad_physical_sectors_end_as_refused(int logical, int physical) =>
        Gen.Int[0, 999].Array[0, 25].Sample(
            bad =>
            {
                MemorySource patient = MemorySource.OfSectors(1000 * physical / logical, logical, physical);
                int each = physical / logical;
                long[] expected = [.. bad.Distinct().Order().SelectMany(b => Enumerable.Range(0, each).Select(i => (long)(b * each) + i))];
                using var reads = new Reads(patient);
                Assert.Equal(ReadEnd.Finished, reads.Sit(s => new RefusingSource(s, RefusalCause.Medium, bad.Distinct().Select(b => SectorRange.Between(b * each, (b + 1) * each)))));
                Assert.Equal(expected, reads.Sectors(SectorState.Refused));
                Assert.Equal(patient.Geometry.Capacity.Value - expected.Length, reads.Sectors(SectorState.Held).Length);
                reads.AssertTrue();
            },
            iter: 20);

    [Fact]
    public void One_bad_logical_sector_takes_its_whole_physical_sector_along()
    {
        MemorySource patient = MemorySource.OfSectors(8000, 512, 4096);
        using var reads = new Reads(patient);
        reads.Sit(s => new RefusingSource(s, RefusalCause.Medium, SectorRange.Between(4003, 4004)));
        Assert.Equal(Enumerable.Range(4000, 8).Select(i => (long)i), reads.Sectors(SectorState.Refused));
    }

    [Fact]
    public void A_lone_bad_sector_costs_three_refusals_and_its_appeals()
    {
        MemorySource patient = MemorySource.OfSectors(20_000);
        using var reads = new Reads(patient);
        reads.Sit(s => new RefusingSource(s, RefusalCause.Medium, SectorRange.Between(10_000, 10_001)));
        Assert.Equal(1, Refusals(StageName.Sweep));
        Assert.Equal(2, Refusals(StageName.Edges));
        Assert.Equal(0, Refusals(StageName.Glean));
        Assert.Equal(2, Refusals(StageName.Appeal));
        int Refusals(StageName stage) => reads.Events.OfType<ReadEvent.Refusal>().Count(r => r.Stage == stage);
    }

    [Fact]
    public void A_sector_that_gives_in_later_is_held_in_the_end()
    {
        using var reads = new Reads(MemorySource.OfSectors(5000));
        reads.Sit(s => new RefusingSource(s, [new Fault(SectorRange.Between(3000, 3001)) { GivesInOnAsk = 5 }]));
        Assert.Empty(reads.Sectors(SectorState.Refused));
        reads.AssertTrue();
    }

    [Fact]
    public void Stopped_at_any_event_and_begun_again_nothing_held_is_asked_twice() => Gen.Int[1, 60].Array[1, 6].Sample(
        stops =>
        {
            MemorySource patient = MemorySource.OfSectors(12_000);
            using var reads = new Reads(patient);
            IBlockSource Through(IBlockSource s) => new RefusingSource(s, RefusalCause.Medium, SectorRange.Between(5000, 5003));
            foreach (int at in stops)
            {
                int seen = 0;
                reads.Sit(Through, stopWhen: _ => ++seen == at);
            }

            Assert.Equal(ReadEnd.Finished, reads.Sit(Through));
            Assert.Equal(12_000 - 3, patient.Asked.Sum(range => range.Count.Value));
            Assert.Equal([5000L, 5001, 5002], reads.Sectors(SectorState.Refused));
            reads.AssertTrue();
        },
        iter: 30);

    [Fact]
    public void A_finished_read_begun_again_asks_nothing()
    {
        MemorySource patient = MemorySource.OfSectors(5000);
        using var reads = new Reads(patient);
        IBlockSource Through(IBlockSource s) => new RefusingSource(s, RefusalCause.Medium, SectorRange.Between(100, 101));
        reads.Sit(Through);
        int asked = patient.Asked.Count;
        reads.Events.Clear();
        reads.Sit(Through);
        Assert.Equal(asked, patient.Asked.Count);
        Assert.Empty(reads.Events.OfType<ReadEvent.Refusal>());
    }

    [Fact]
    public void The_guides_ranges_are_asked_before_the_sweep()
    {
        MemorySource patient = MemorySource.OfSectors(40_000);
        using var reads = new Reads(patient);
        reads.Sit(guide: new Names(new ByteRange(30_000 * 512, 700)));
        int wanted = patient.Asked.FindIndex(range => range.Contains(new Lba(30_000)));
        int swept = patient.Asked.FindIndex(range => range.Contains(new Lba(2048)));
        Assert.InRange(wanted, 1, swept - 1);
        reads.AssertTrue();
    }

    [Fact]
    public void Structures_that_share_a_piece_are_asked_for_once()
    {
        MemorySource patient = MemorySource.OfSectors(40_000);
        using var reads = new Reads(patient);
        reads.Sit(guide: new Names([.. Enumerable.Range(0, 300).Select(i => new ByteRange((20_000 + (i * 7)) * 512, 3000))]));
        Assert.Equal(40_000, patient.Asked.Sum(range => range.Count.Value));
    }

    [Fact]
    public void A_source_that_goes_away_ends_the_sitting_and_the_next_one_goes_on()
    {
        MemorySource patient = MemorySource.OfSectors(20_000);
        using var reads = new Reads(patient);
        Assert.Equal(ReadEnd.SourceGone, reads.Sit(s => new RefusingSource(s, RefusalCause.Gone, SectorRange.Between(15_000, 15_001))));
        Assert.Empty(reads.Sectors(SectorState.Refused));
        Assert.Equal(ReadEnd.Finished, reads.Sit());
        Assert.Equal(20_000, patient.Asked.Sum(range => range.Count.Value));
        reads.AssertTrue();
    }

    [Fact]
    public void A_source_that_ends_early_ends_the_sitting_instead_of_a_million_refusals()
    {
        using var reads = new Reads(MemorySource.OfSectors(20_000));
        Assert.Equal(ReadEnd.SourceShrank, reads.Sit(s => new RefusingSource(s, RefusalCause.PastEnd, SectorRange.Between(10_000, 20_000))));
        Assert.Single(reads.Events.OfType<ReadEvent.Refusal>());
    }

    [Fact]
    public void Silence_three_times_in_a_row_ends_the_sitting_and_is_kept_in_the_map()
    {
        using var reads = new Reads(MemorySource.OfSectors(20_000));
        var options = new ReadOptions { Patience = TimeSpan.FromMilliseconds(20) };
        Assert.Equal(ReadEnd.SourceSilent, reads.Sit(s => new RefusingSource(s, RefusalCause.Silence, SectorRange.Between(0, 20_000)), options));
        Assert.Contains(reads.Look(f => f.Map.Runs().ToArray()), run => run.Mark is { State: SectorState.PassedOver, Cause: RefusalCause.Silence });
        Assert.Empty(reads.Sectors(SectorState.Held));
    }

    [Fact]
    public void A_budget_ends_the_sitting_on_the_sources_own_clock()
    {
        using var reads = new Reads(MemorySource.OfSectors(200_000));
        var options = new ReadOptions { Budget = TimeSpan.FromMilliseconds(100) };
        Assert.Equal(ReadEnd.BudgetSpent, reads.Sit(s => new DelayedSource(s, TimeSpan.FromMilliseconds(15)), options));
        reads.AssertTrue();
    }

    [Fact]
    public void One_stage_alone_leaves_the_others_for_later()
    {
        using var reads = new Reads(MemorySource.OfSectors(20_000));
        reads.Sit(options: new ReadOptions { Only = StageName.Survey });
        long[] held = reads.Sectors(SectorState.Held);
        Assert.Contains(0L, held);
        Assert.Contains(19_999L, held);
        Assert.Equal(20_000 - held.Length, reads.Sectors(SectorState.Unasked).Length);
        Assert.InRange(held.Length, 4096, 4096 + 128);
    }

    private sealed class Names(params ByteRange[] ranges) : IReadGuide
    {
        public IEnumerable<ByteRange> AskFirst(ISectorView held) => ranges;
    }
}
