using Turnstone.Media;
using Turnstone.Patients.Faults;

namespace Turnstone.Patients.Tests.Faults;

public sealed class FaultTests
{
    private static readonly TimeSpan Never = Timeout.InfiniteTimeSpan;
    private readonly byte[] _buffer = new byte[512 * 100];

    [Fact]
    public void Only_reads_that_touch_a_refused_range_are_refused() =>
        Gen.Select(Gen.Int[0, 99], Gen.Int[1, 20], Gen.Int[0, 99]).Sample((start, count, bad) =>
        {
            using var source = new RefusingSource(new ZeroSource(200), RefusalCause.IdNotFound, SectorRange.Between(bad, bad + 3));
            ReadOutcome outcome = source.Read(SectorRange.Between(start, start + count), _buffer, Never);
            bool touches = start < bad + 3 && bad < start + count;
            return touches == outcome is ReadOutcome.Refused { Cause: RefusalCause.IdNotFound, FirstBad: null };
        });

    [Fact]
    public void A_refusal_names_the_first_bad_sector_of_the_read_when_asked_to()
    {
        using var source = new RefusingSource(new ZeroSource(100), [new Fault(SectorRange.Between(10, 20)) { NamesFirstBad = true }]);
        Assert.Equal(new Lba(15), FirstBad(source, 15, 30));
        Assert.Equal(new Lba(10), FirstBad(source, 0, 30));
    }

    [Fact]
    public void A_sector_gives_in_on_the_chosen_ask_and_stays_good()
    {
        using var source = new RefusingSource(new ZeroSource(100), [new Fault(SectorRange.Between(5, 6)) { GivesInOnAsk = 3 }]);
        bool[] answers = [.. Enumerable.Range(0, 5).Select(_ => source.Read(SectorRange.Between(0, 8), _buffer, Never) is ReadOutcome.Bytes)];
        Assert.Equal([false, false, true, true, true], answers);
    }

    [Fact]
    public void A_slow_refusal_takes_virtual_time_and_is_silence_to_the_impatient()
    {
        var inner = new ZeroSource(100);
        using var source = new RefusingSource(inner, [new Fault(SectorRange.Between(5, 6)) { Takes = TimeSpan.FromSeconds(7) }]);
        ReadOutcome patient = source.Read(SectorRange.Between(5, 6), _buffer, Never);
        ReadOutcome impatient = source.Read(SectorRange.Between(5, 6), _buffer, TimeSpan.FromSeconds(2));
        Assert.IsType<ReadOutcome.Refused>(patient);
        Assert.IsType<ReadOutcome.Silent>(impatient);
        Assert.Equal(TimeSpan.FromSeconds(9), inner.Virtual.Elapsed);
    }

    [Fact]
    public void Silence_lasts_as_long_as_the_caller_waits()
    {
        using var source = new RefusingSource(new ZeroSource(100), RefusalCause.Silence, SectorRange.Between(5, 6));
        ReadOutcome outcome = source.Read(SectorRange.Between(0, 9), _buffer, TimeSpan.FromSeconds(30));
        Assert.Equal(TimeSpan.FromSeconds(30), Assert.IsType<ReadOutcome.Silent>(outcome).Took);
        Assert.Throws<ArgumentException>(() => source.Read(SectorRange.Between(0, 9), _buffer, Never));
    }

    [Fact]
    public void Overlapping_faults_are_a_misuse() =>
        Assert.Throws<ArgumentException>(() => new RefusingSource(new ZeroSource(9), RefusalCause.Medium, SectorRange.Between(0, 4), SectorRange.Between(3, 5)));

    [Fact]
    public void A_delayed_source_is_late_by_its_delay()
    {
        using var source = new DelayedSource(new ZeroSource(100), TimeSpan.FromMilliseconds(250));
        ReadOutcome outcome = source.Read(SectorRange.Between(0, 9), _buffer, TimeSpan.FromSeconds(1));
        Assert.Equal(TimeSpan.FromMilliseconds(250), Assert.IsType<ReadOutcome.Bytes>(outcome).Took);
        Assert.IsType<ReadOutcome.Silent>(source.Read(SectorRange.Between(0, 9), _buffer, TimeSpan.FromMilliseconds(249)));
    }

    private Lba? FirstBad(RefusingSource source, long start, long end) =>
        Assert.IsType<ReadOutcome.Refused>(source.Read(SectorRange.Between(start, end), _buffer, Never)).FirstBad;

    private sealed class ZeroSource(long sectors) : IBlockSource
    {
        public VirtualClock Virtual { get; } = new();

        public SourceIdentity Identity => new("zeros", "test");

        public Geometry Geometry => new(SectorSize.Small, SectorSize.Small, new SectorCount(sectors));

        public TimeProvider Clock => Virtual;

        public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit) =>
            new ReadOutcome.Bytes(into[..(int)range.Bytes(SectorSize.Small).Length]) { Asked = range, Took = TimeSpan.Zero };

        public void Dispose()
        {
        }
    }
}
