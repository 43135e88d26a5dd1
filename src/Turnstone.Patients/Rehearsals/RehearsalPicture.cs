namespace Turnstone.Patients.Rehearsals;

/// <summary>Draws one rehearsal: three values and the wear against virtual time, beside the upper bound.</summary>
public static class RehearsalPicture
{
    private const int Samples = 200;

    /// <summary>The picture as SVG.</summary>
    /// <param name="heading">Written above.</param>
    /// <param name="result">What the strategy brought.</param>
    /// <param name="bound">What nobody could beat.</param>
    /// <param name="budget">Virtual time on the scale.</param>
    public static string Of(string heading, RehearsalResult result, ClairvoyantBound bound, TimeSpan budget)
    {
        TimeSpan[] times = [.. Enumerable.Range(0, Samples + 1).Select(i => budget * i / Samples)];
        ChartLine Line(Func<CurvePoint, double> value) => new(result.Strategy, [.. times.Select(t => (t.TotalHours, value(result.At(t))))]);
        LineChart Value(string title, ValueKind kind) => new()
        {
            Title = title,
            XLabel = "virtual time, hours",
            YLabel = "held, GB",
            XMost = budget.TotalHours,
            Lines = [Line(p => RehearsalResult.Of(p, kind) / 1e9), new ChartLine("upper bound", [.. times.Select(t => (t.TotalHours, bound.At(kind, t) / 1e9))], Stepped: false)],
        };
        var wear = new LineChart
        {
            Title = "Wear of all heads",
            XLabel = "virtual time, hours",
            YLabel = "wear, units of ten hours' work",
            XMost = budget.TotalHours,
            Lines = [Line(p => p.Wear), new ChartLine("upper bound", [])],
        };
        return LineChart.Sheet(heading, [Value("All bytes", ValueKind.Bytes), Value("Wish-weighted bytes", ValueKind.WishedBytes), Value("Whole wished files", ValueKind.WholeFiles), wear], 2);
    }
}
