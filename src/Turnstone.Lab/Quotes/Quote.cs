using Turnstone.Lab.Values;

namespace Turnstone.Lab.Quotes;

/// <summary>One way that the case may go to its end.</summary>
/// <param name="Way">What happens, in order.</param>
/// <param name="Chance">How probable it is.</param>
/// <param name="Bench">Bench time.</param>
/// <param name="Station">Station time.</param>
/// <param name="Cost">What it costs the lab.</param>
/// <param name="Success">The chance that the files come back.</param>
public sealed record QuoteEnd(IReadOnlyList<string> Way, Probability Chance, TimeSpan Bench, TimeSpan Station, Money Cost, Probability Success);

/// <summary>A quote with its uncertainty.</summary>
/// <param name="Expected">Expected cost to the lab.</param>
/// <param name="Low">One case of ten costs less.</param>
/// <param name="High">One case of ten costs more.</param>
/// <param name="Bench">Expected bench time.</param>
/// <param name="Station">Expected station time.</param>
/// <param name="Success">The chance that the files come back.</param>
/// <param name="Price">Price by the lab's rule, for the expected cost.</param>
/// <param name="PriceLow">The same for the low cost.</param>
/// <param name="PriceHigh">The same for the high cost.</param>
/// <param name="WithoutData">What is paid where nothing comes back.</param>
/// <param name="Ends">All ways, the most probable first.</param>
public sealed record Quote(
    Money Expected, Money Low, Money High, TimeSpan Bench, TimeSpan Station, Probability Success,
    Money Price, Money PriceLow, Money PriceHigh, Money WithoutData, IReadOnlyList<QuoteEnd> Ends)
{
    /// <summary>Works a tree out.</summary>
    /// <param name="tree">What may happen; checked when it was read.</param>
    /// <param name="costs">Rates and price rule.</param>
    /// <remarks>Quantiles of the ends' own distribution: the least cost that at least 10 % (90 %) of the chance doesn't exceed.</remarks>
    public static Quote Of(QuoteNode tree, CostTable costs)
    {
        QuoteEnd[] ends = [.. Walk(tree, costs, new QuoteEnd([], new Probability(1), TimeSpan.Zero, TimeSpan.Zero, Money.None(costs.Currency), new Probability(0)))];
        double total = ends.Sum(e => e.Chance.Value);
        Money expected = Money.Of(ends.Sum(e => e.Chance.Value * (double)e.Cost.Amount) / total, costs.Currency);
        var success = Probability.Near(ends.Sum(e => e.Chance.Value * e.Success.Value) / total);
        Money low = Quantile(ends, 0.1 * total), high = Quantile(ends, 0.9 * total);
        return new Quote(
            expected, low, high, Mean(ends, e => e.Bench, total), Mean(ends, e => e.Station, total), success,
            costs.Price.Of(expected, success), costs.Price.Of(low, success), costs.Price.Of(high, success),
            costs.Price.OnlyForData ? costs.Price.Evaluation : costs.Price.Of(expected, success),
            [.. ends.OrderByDescending(e => e.Chance)]);
    }

    private static IEnumerable<QuoteEnd> Walk(QuoteNode node, CostTable costs, QuoteEnd before)
    {
        QuoteEnd here = before with
        {
            Way = [.. before.Way, node.What],
            Chance = new Probability(before.Chance.Value * node.Chance.Value),
            Bench = before.Bench + node.Bench,
            Station = before.Station + node.Station,
            Cost = before.Cost + CostOf(node, costs),
            Success = node.Success ?? before.Success,
        };
        return node.Branches.Count == 0 ? [here] : node.Branches.SelectMany(b => Walk(b, costs, here));
    }

    private static Money CostOf(QuoteNode node, CostTable costs)
    {
        Money none = Money.None(costs.Currency);
        Money time = (costs.BenchHour * (decimal)node.Bench.TotalHours) + (costs.StationHour * (decimal)node.Station.TotalHours);
        return time + (node.Donors ?? none) + (node.Media ?? none) + (node.Consumables ?? none);
    }

    private static Money Quantile(QuoteEnd[] ends, double chance)
    {
        double sum = 0;
        foreach (QuoteEnd end in ends.OrderBy(e => e.Cost))
        {
            sum += end.Chance.Value;
            if (sum >= chance - 1e-12)
                return Money.Of((double)end.Cost.Amount, end.Cost.Currency);
        }

        return ends[^1].Cost;
    }

    private static TimeSpan Mean(QuoteEnd[] ends, Func<QuoteEnd, TimeSpan> time, double total) =>
        TimeSpan.FromMinutes(Math.Round(ends.Sum(e => e.Chance.Value * time(e).TotalMinutes) / total));
}
