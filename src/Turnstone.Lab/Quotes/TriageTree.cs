using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Triage;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Quotes;

/// <summary>The tree of what may happen, made of what triage says.</summary>
/// <remarks>
/// The model: first it shows which failure it is; then the work goes well, as usual or badly (30, 40 and 30 %: Swanson's rule for a tenth, a half and
/// nine tenths, Hurst, Brown and Swanson, AAPG Bulletin 84(12), 2000, from memory); where donors are needed, one after the other is tried, each costing its
/// price and the work again. The chance of success of each failure is triage's outlook, shared out over the tries that work.
/// </remarks>
public static class TriageTree
{
    private static readonly (string Name, double Chance)[] Turns = [("goes well", 0.3), ("as usual", 0.4), ("goes badly", 0.3)];

    /// <summary>Makes the tree.</summary>
    /// <param name="report">What triage says.</param>
    /// <param name="triage">Its table, for the outlook of each failure.</param>
    /// <param name="findings">What was seen.</param>
    /// <param name="costs">What each failure takes.</param>
    /// <param name="plan">The plan for the first failure, for what it uses up; null where there is none.</param>
    public static QuoteNode Of(TriageReport report, TriageTable triage, TriageFindings findings, CostTable costs, Plan? plan) => new()
    {
        What = "triage",
        Chance = new Probability(1),
        Bench = TimeSpan.FromMinutes(30),
        Branches = [.. report.Suspects.Select(s => OfFailure(s, TriageReport.OutlookFor(triage, findings, s.Failure), costs, s.Failure == plan?.Failure ? UsedUp(plan, costs) : null))],
    };

    private static QuoteNode OfFailure(Suspect suspect, Probability outlook, CostTable costs, Money? usedUp)
    {
        FailureCost cost = costs.Failures.First(f => f.Failure == suspect.Failure);
        return new QuoteNode
        {
            What = Words.Of(suspect.Failure),
            Chance = suspect.Chance,
            Consumables = usedUp,
            Branches = [.. Turns.Select((turn, i) => Turn(turn.Name, new Probability(turn.Chance), At(cost.Bench, i), At(cost.Station, i), cost, outlook, costs))],
        };
    }

    private static QuoteNode Turn(string name, Probability chance, TimeSpan bench, TimeSpan station, FailureCost cost, Probability outlook, CostTable costs)
    {
        if (cost.DonorTries == 0)
            return new QuoteNode { What = name, Chance = chance, Bench = bench, Station = station, Media = costs.Medium, Success = outlook };
        double anyWorks = 1 - Math.Pow(cost.DonorWorks.Not.Value, cost.DonorTries);
        // Never a certainty, whatever the two tables say together.
        var success = new Probability(Math.Min(0.99, outlook.Value / anyWorks));
        return new QuoteNode { What = name, Chance = chance, Branches = Tries(1, bench, station, cost, success, costs) };
    }

    // Each further try costs half the work of the first: the drive is open and known.
    private static IReadOnlyList<QuoteNode> Tries(int number, TimeSpan bench, TimeSpan station, FailureCost cost, Probability success, CostTable costs)
    {
        TimeSpan work = number == 1 ? bench : bench / 2;
        var works = new QuoteNode { What = $"donor {number} works", Chance = cost.DonorWorks, Bench = work, Station = station, Donors = cost.DonorPrice, Media = costs.Medium, Success = success };
        var fails = new QuoteNode { What = $"donor {number} fails", Chance = cost.DonorWorks.Not, Bench = work, Donors = cost.DonorPrice };
        return [works, number == cost.DonorTries
            ? fails with { Success = new Probability(0) }
            : fails with { Branches = Tries(number + 1, bench, station, cost, success, costs) }];
    }

    private static TimeSpan At(Spread spread, int turn) => turn switch { 0 => spread.Low, 1 => spread.Usual, _ => spread.High };

    private static Money UsedUp(Plan plan, CostTable costs) => plan.Uses.Aggregate(
        Money.None(costs.Currency), (sum, use) => costs.Consumables.TryGetValue(use.Item, out Money price) ? sum + (price * use.Count) : sum);
}
