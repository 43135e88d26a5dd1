using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Arena;

/// <summary>One family's curves: three values and the wear against virtual time, the mean over the seeds.</summary>
internal static class Picture
{
    private const int Samples = 100;

    public static string Of(Family family, IReadOnlyList<Bout> bouts)
    {
        double hours = bouts.Average(b => b.Horizon.TotalHours);
        LineChart[] charts =
        [
            Value("All bytes", ValueKind.Bytes, bouts, hours),
            Value("Wish-weighted bytes", ValueKind.WishedBytes, bouts, hours),
            Value("Whole wished files", ValueKind.WholeFiles, bouts, hours),
            new LineChart
            {
                Title = "Wear of all heads", XLabel = "virtual time, hours", YLabel = "wear, units of ten hours' work", XMost = hours,
                Lines = [.. ByStrategy(bouts, hours, (b, t) => b.Result.At(t).Wear), new ChartLine("bound", [])],
            },
        ];
        return LineChart.Sheet($"{family.Name}: {family.Description}", charts, 2);
    }

    private static LineChart Value(string title, ValueKind kind, IReadOnlyList<Bout> bouts, double hours)
    {
        double Share(Bout bout, double value) => bout.Bound.Most(kind) > 0 ? 100 * value / bout.Bound.Most(kind) : 0;
        Bout[] patients = [.. bouts.DistinctBy(b => b.Seed)];
        var bound = new ChartLine("bound", [.. Times(hours).Select(t => (t.TotalHours, patients.Average(b => Share(b, b.Bound.At(kind, t)))))], Stepped: false);
        return new LineChart
        {
            Title = title,
            XLabel = "virtual time, hours",
            YLabel = "held, % of what the bound can have",
            XMost = hours,
            YMost = 100,
            Lines = [.. ByStrategy(bouts, hours, (b, t) => Share(b, RehearsalResult.Of(b.Result.At(t), kind))), bound],
        };
    }

    private static IEnumerable<ChartLine> ByStrategy(IReadOnlyList<Bout> bouts, double hours, Func<Bout, TimeSpan, double> value) =>
        bouts.GroupBy(b => b.Result.Strategy).Select(s => new ChartLine(s.Key, [.. Times(hours).Select(t => (t.TotalHours, s.Average(b => value(b, t))))]));

    private static IEnumerable<TimeSpan> Times(double hours) => Enumerable.Range(0, Samples + 1).Select(i => TimeSpan.FromHours(hours * i / Samples));
}
