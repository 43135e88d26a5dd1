using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Quotes;

/// <summary>What a case really took.</summary>
/// <param name="Case">The case.</param>
/// <param name="Bench">Bench time.</param>
/// <param name="Station">Station time.</param>
/// <param name="Donors">Donors booked to it.</param>
/// <param name="Media">Media.</param>
/// <param name="Consumables">Things used up.</param>
/// <param name="Success">Whether the files came back.</param>
public sealed record Actual(string Case, TimeSpan Bench, TimeSpan Station, Money Donors, Money Media, Money Consumables, bool Success)
{
    /// <summary>Reads it; amounts in another currency than the lab's are refused.</summary>
    public static Understood<Actual> Read(string file, string text, Currency currency) => LabDocument.Read<Actual>(file, text, a => Check(a, currency));

    private static IEnumerable<Complaint> Check(Actual actual, Currency currency)
    {
        foreach ((string name, Money money) in new[] { ("donors", actual.Donors), ("media", actual.Media), ("consumables", actual.Consumables) })
        {
            if (money.Currency != currency)
                yield return new(name, $"{money} is in another currency; the lab reckons in {currency}");
            if (money.Amount < 0)
                yield return new(name, $"{money}: a cost is not negative");
        }
    }
}

/// <summary>What a case took against what was quoted.</summary>
/// <param name="Cost">What it cost the lab.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Over">Cost less expectation.</param>
/// <param name="InRange">Whether it lies between the quote's low and high.</param>
/// <param name="BenchOver">Bench time less expectation.</param>
/// <param name="StationOver">Station time less expectation.</param>
/// <param name="Paid">What the client pays by the quote.</param>
/// <param name="Left">What is paid less the cost.</param>
public sealed record Settlement(Money Cost, Money Expected, Money Over, bool InRange, TimeSpan BenchOver, TimeSpan StationOver, Money Paid, Money Left)
{
    /// <summary>Sets the two against each other.</summary>
    public static Settlement Of(Quote quote, Actual actual, CostTable costs)
    {
        Money cost = (costs.BenchHour * (decimal)actual.Bench.TotalHours) + (costs.StationHour * (decimal)actual.Station.TotalHours)
            + actual.Donors + actual.Media + actual.Consumables;
        cost = cost with { Amount = Math.Round(cost.Amount, 2, MidpointRounding.AwayFromZero) };
        Money paid = actual.Success ? quote.Price : quote.WithoutData;
        return new Settlement(cost, quote.Expected, cost - quote.Expected, cost >= quote.Low && cost <= quote.High,
            actual.Bench - quote.Bench, actual.Station - quote.Station, paid, paid - cost);
    }
}
