using Turnstone.Lab.Air;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;
using static Turnstone.Lab.Tests.Air.Air_classes;

namespace Turnstone.Lab.Tests.Air;

public class Air_readings
{
    private const string File = """
        # particle counter export, 28.3 L/min, counts: cumulative
        location;started;volume (L);>=0.3 µm;>=0.5 µm;>=1 µm;>=5 µm
        left;2026-11-25T08:00;28.3;40;12;3;0
        left;2026-11-25T08:01;28.3;31;8;2;0
        left;2026-11-25T08:02;28.3;44;15;4;1
        """;

    private static readonly AirClaim Five = new(Class("5"), [Size(0.5)], new Area(0.72), new Flow(0.0283 / 60), Edition.Iso2015);

    [Fact]
    public void A_counters_file_is_classed_with_its_plan()
    {
        AirReport report = Judged(Read(File), Five);
        Assert.True(report.Holds, report.Sentence);
        Assert.Equal(412.25, report.Sizes[0].Worst.PerCubicMetre, 0.005);
        Assert.Equal("4.1", report.Sizes[0].CorrespondsTo.ToString());
        Assert.Equal((1, 5.68), (report.Plan.Locations, Math.Round(report.Plan.Volume.Litres, 2)));
    }

    [Fact]
    public void What_the_counts_correspond_to_is_not_what_the_volume_allows_to_claim()
    {
        // Class 4.1 asks for 20 / 443 m³ = 45 L at 0.5 µm; 28.3 L suffice from 707 particles, class 4.4 (883).
        SizeVerdict verdict = Judged(Read(File), Five).Sizes[0];
        Assert.Equal(("4.1", "4.4"), (verdict.CorrespondsTo.ToString(), verdict.Claimable.ToString()));
    }

    [Fact]
    public void The_same_air_does_not_bear_class_4() => Assert.Contains("does not hold: left has 411", Judged(Read(File.Replace("28.3;", "56.82;").Replace("40;12", "80;24").Replace("31;8", "62;16").Replace("44;15", "88;30")), Five with { Class = Class("4") }).Sentence);

    [Theory]
    // Location averages per cubic metre; pass by 2015, pass by 1999, the 1999 upper confidence limit. Computed by a second program.
    [InlineData(true, false, 3720.5, new double[] { 3000, 3500, 1066.67, 800 })]
    [InlineData(false, false, 2250, new double[] { 3600, 900, 900, 900, 900, 900 })]
    [InlineData(true, true, 2601.4, new double[] { 2500, 2600, 2550, 2450, 2400, 2650 })]
    [InlineData(true, false, 8300, new double[] { 3000, 1000 })]
    public void Places_by_both_editions(bool passes2015, bool passes1999, double confidence, double[] averages)
    {
        var reading = new AirReading("test", [Size(0.5)], [.. averages.Select((a, i) => new AirSample($"{i}", new Volume(100), [(long)Math.Round(a * 100)]))]);
        Assert.Equal(passes2015, Judged(reading, Five).Sizes[0].Passes);
        SizeVerdict old = Judged(reading, Five with { Edition = Edition.Iso1999 }).Sizes[0];
        Assert.Equal(passes1999, old.Passes);
        Assert.Equal(confidence, old.ConfidenceLimit!.Value.PerCubicMetre, 0.1);
    }

    [Fact]
    public void Too_little_air_bears_no_claim()
    {
        var reading = new AirReading("test", [Size(1)], [new AirSample("A", Volume.FromLitres(20), [0])]);
        Assert.Contains("20 L were counted at A, 24.04 L are needed at 1 µm", Judged(reading, Five with { Sizes = [Size(1)] }).Sentence);
    }

    [Fact]
    public void Too_few_places_bear_no_claim() =>
        Assert.Contains("1 place sampled, 6 are needed", Judged(Read(File), Five with { Area = new Area(24) }).Sentence);

    [Fact]
    public void A_size_without_limit_is_refused() =>
        Assert.Contains("no limit there", AirReport.TryJudge(Table, Read(File), Five with { Sizes = [Size(5)] }, out _));

    [Fact]
    public void A_size_that_was_not_counted_is_refused() =>
        Assert.Contains("no counts at 0.2 µm; it has 0.3 µm, 0.5 µm", AirReport.TryJudge(Table, Read(File), Five with { Sizes = [Size(0.2)] }, out _));

    [Fact]
    public void Nothing_counted_is_not_nothing_there()
    {
        var reading = new AirReading("test", [Size(0.5)], [new AirSample("A", Volume.FromLitres(28.3), [0])]);
        Assert.Equal(105.9, Judged(reading, Five).Sizes[0].UpTo.PerCubicMetre, 0.05);
    }

    [Theory]
    // One-sided 95 % upper bounds of a Poisson mean, computed by a second program.
    [InlineData(0, 2.996)]
    [InlineData(1, 4.744)]
    [InlineData(2, 6.296)]
    [InlineData(5, 10.513)]
    [InlineData(10, 16.962)]
    [InlineData(20, 29.062)]
    public void Upper_bounds_of_counts(long count, double bound) => Assert.Equal(bound, Poisson.UpperBound95(count), 0.0005);

    [Fact]
    public void The_two_ways_to_the_bound_meet_at_a_thousand() =>
        Assert.Equal(1, Poisson.UpperBound95(1000) / (Poisson.UpperBound95(1001) - 1.026), 1e-4);

    [Fact]
    public void Differential_counts_are_added_up() =>
        Assert.Equal([35, 15, 5, 1], Read("# counts: differential\nplace,volume (L),>=0.3um,>=0.5um,>=1um,>=5um\nA,28.3,20,10,4,1\n").Samples[0].Counts);

    [Theory]
    [InlineData("volume (L)", "volume", 2, "'volume' has no unit that is known")]
    [InlineData(">=0.5 µm", ">=0.5", 2, "has no unit")]
    [InlineData("40;12;3;0", "40;-12;3;0", 3, "count '-12' at 0.5 µm is impossible")]
    [InlineData("40;12;3;0", "40;12;3", 3, "6 columns where the heading has 7")]
    [InlineData("31;8;2;0", "31;8;9;0", 4, "write '# counts: differential'")]
    [InlineData("28.3;40", "0;40", 3, "volume '0' is impossible")]
    [InlineData("location", "spot", 2, "no column 'location'")]
    [InlineData("28.3;40", "NaN;40", 3, "volume 'NaN' is impossible")]
    public void A_bad_file_is_explained_with_its_line(string from, string to, int line, string says)
    {
        int at = File.IndexOf(from, StringComparison.Ordinal);
        Fault fault = AirReading.Read("counts.csv", File[..at] + to + File[(at + from.Length)..]).Fault();
        Assert.Equal(line, fault.Line);
        Assert.Contains(says, fault.What);
    }

    [Fact]
    public void Any_text_gets_an_answer_and_never_an_exception() =>
        Gen.Select(Gen.Int[0, File.Length], Gen.String).Sample((at, text) => AirReading.Read("x", File.Insert(at, text)) is not null);

    private static AirReading Read(string text) => AirReading.Read("counts.csv", text).Item();

    private static AirReport Judged(AirReading reading, AirClaim claim)
    {
        Assert.Null(AirReport.TryJudge(Table, reading, claim, out AirReport? report));
        return report!;
    }
}
