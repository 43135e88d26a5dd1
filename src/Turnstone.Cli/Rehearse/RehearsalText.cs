using System.Text;
using System.Text.Json;
using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Cli.Rehearse;

/// <summary>A rehearsal hour by hour, for people and for programs.</summary>
internal static class RehearsalText
{
    private static readonly JsonSerializerOptions Plain = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase, WriteIndented = true };

    public static string Table(Scenario scenario, RehearsalResult result, ClairvoyantBound bound, TimeSpan budget)
    {
        var text = new StringBuilder();
        text.AppendLine($"{Printable(scenario.Name)}, read by '{result.Strategy}' for {budget.TotalHours:0.##} h of virtual time");
        text.AppendLine("Held, in GB and as a share of what nobody could beat at that hour:");
        text.AppendLine();
        text.AppendLine(" hour     all bytes         wish-weighted     whole wished files  wear");
        foreach (TimeSpan hour in Hours(budget))
        {
            CurvePoint at = result.At(hour);
            string Cell(ValueKind kind) => $"{RehearsalResult.Of(at, kind) / 1e9,10:0.0}{Share(RehearsalResult.Of(at, kind), bound.At(kind, hour)),7}";
            text.AppendLine($"{hour.TotalHours,5:0.##}{Cell(ValueKind.Bytes)} {Cell(ValueKind.WishedBytes)} {Cell(ValueKind.WholeFiles)}  {at.Wear,6:0.00}");
        }

        text.AppendLine();
        text.AppendLine($"{result.Asks} reads, {result.Refusals} refused, {result.Silences} silent, power cut {result.PowerCycles} times, {result.DeadHeads} heads dead at the end{(result.DriveDead ? ", the drive has stopped for good" : "")}.");
        text.AppendLine($"At most {bound.Most(ValueKind.Bytes) / 1e9:0.0} GB can be had, {bound.Most(ValueKind.WholeFiles) / 1e9:0.0} GB of it as whole wished files. Wear: one unit is ten hours of one head's plain work.");
        text.AppendLine("A model, not a promise: its damage and wear are assumptions (docs/formats/scenario.md).");
        return text.ToString();
    }

    public static string Json(Scenario scenario, RehearsalResult result, ClairvoyantBound bound, TimeSpan budget) => JsonSerializer.Serialize(new
    {
        scenario = scenario.Name,
        seed = scenario.Seed,
        strategy = result.Strategy,
        budgetSeconds = budget.TotalSeconds,
        hours = Hours(budget).Select(hour => new
        {
            hour = Math.Round(hour.TotalHours, 3),
            held = Values(kind => RehearsalResult.Of(result.At(hour), kind)),
            bound = Values(kind => bound.At(kind, hour)),
            wear = Math.Round(result.At(hour).Wear, 6),
        }),
        asks = result.Asks,
        refusals = result.Refusals,
        silences = result.Silences,
        powerCycles = result.PowerCycles,
        deadHeads = result.DeadHeads,
        driveDead = result.DriveDead,
    }, Plain) + "\n";

    private static object Values(Func<ValueKind, double> value) => new
    {
        bytes = Math.Round(value(ValueKind.Bytes)),
        wishedBytes = Math.Round(value(ValueKind.WishedBytes)),
        wholeFileBytes = Math.Round(value(ValueKind.WholeFiles)),
    };

    /// <summary>Each full hour, and the end.</summary>
    private static IEnumerable<TimeSpan> Hours(TimeSpan budget)
    {
        for (int hour = 1; hour < budget.TotalHours; hour++)
            yield return TimeSpan.FromHours(hour);
        yield return budget;
    }

    private static string Share(double value, double most) => most > 0 ? $"{Math.Floor(100 * value / most):0} %" : "-";

    // The name comes out of a file: no control character of it reaches the terminal.
    private static string Printable(string name) => new([.. name.Select(c => char.IsControl(c) ? '?' : c)]);
}
