using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Quotes;

/// <summary>What work costs and how prices are made; a laboratory edits it.</summary>
public sealed record CostTable
{
    /// <summary>Name of the table's file.</summary>
    public const string File = "costs.json";

    /// <summary>Where the numbers come from.</summary>
    public required string Source { get; init; }

    /// <summary>The currency that the lab reckons in.</summary>
    public required Currency Currency { get; init; }

    /// <summary>One hour at the bench.</summary>
    public required Money BenchHour { get; init; }

    /// <summary>One hour of a station.</summary>
    public required Money StationHour { get; init; }

    /// <summary>How a price is made of a cost.</summary>
    public required PriceRule Price { get; init; }

    /// <summary>What the client's copy is put on.</summary>
    public required Money Medium { get; init; }

    /// <summary>Things used up, by name.</summary>
    public required IReadOnlyDictionary<string, Money> Consumables { get; init; }

    /// <summary>What each failure takes.</summary>
    public required IReadOnlyList<FailureCost> Failures { get; init; }

    /// <summary>Reads the table.</summary>
    public static Understood<CostTable> Read(TableShelf shelf) => shelf.Read<CostTable>(File, Check);

    private static IEnumerable<Complaint> Check(CostTable table)
    {
        foreach ((string where, Money money) in Amounts(table))
        {
            if (money.Currency != table.Currency)
                yield return new(where, $"{money} is in another currency; the table is kept in {table.Currency}");
            if (money.Amount < 0)
                yield return new(where, $"{money}: not negative");
        }

        if (table.Price.RoundTo.Amount <= 0)
            yield return new("price.roundTo", "must be above 0");
        if (table.Price.Margin is not (>= 0 and <= 10))
            yield return new("price.margin", $"{table.Price.Margin}: a share of the cost from 0 to 10");
        foreach (Failure failure in Enum.GetValues<Failure>().Where(f => table.Failures.Count(r => r.Failure == f) != 1))
            yield return new("failures", $"'{Words.Of(failure)}' stands here {table.Failures.Count(r => r.Failure == failure)} times; expected once");
        for (int i = 0; i < table.Failures.Count; i++)
        {
            if (!table.Failures[i].Bench.Rises || !table.Failures[i].Station.Rises)
                yield return new($"failures[{i}]", "low, usual and high must rise");
            if (table.Failures[i].DonorTries is < 0 or > 9)
                yield return new($"failures[{i}].donorTries", $"{table.Failures[i].DonorTries}: 0 to 9");
        }
    }

    private static IEnumerable<(string Where, Money Money)> Amounts(CostTable t) =>
    [
        ("benchHour", t.BenchHour), ("stationHour", t.StationHour), ("medium", t.Medium), ("price.minimum", t.Price.Minimum),
        ("price.roundTo", t.Price.RoundTo), ("price.evaluation", t.Price.Evaluation),
        .. t.Consumables.Select(c => ($"consumables.{c.Key}", c.Value)), .. t.Failures.Select((f, i) => ($"failures[{i}].donorPrice", f.DonorPrice)),
    ];
}

/// <summary>How a price is made of a cost.</summary>
/// <param name="Margin">Share added to the cost.</param>
/// <param name="Minimum">Least price where files come back.</param>
/// <param name="RoundTo">Prices are whole multiples, rounded up.</param>
/// <param name="Evaluation">What is paid where nothing comes back.</param>
/// <param name="OnlyForData">Whether the client pays no more than the evaluation where nothing comes back; successes then carry the rest.</param>
public sealed record PriceRule(double Margin, Money Minimum, Money RoundTo, Money Evaluation, bool OnlyForData)
{
    /// <summary>The price for cases that end well, so that all such cases together bring cost and margin.</summary>
    /// <param name="cost">Cost to cover, on average over good and bad ends.</param>
    /// <param name="success">The chance of a good end.</param>
    public Money Of(Money cost, Probability success)
    {
        decimal wanted = cost.Amount * (1 + (decimal)Margin);
        if (OnlyForData && success.Value > 0)
            wanted = (wanted - (Evaluation.Amount * (decimal)success.Not.Value)) / (decimal)success.Value;
        decimal price = Math.Max(Minimum.Amount, wanted);
        return new Money(Math.Ceiling(price / RoundTo.Amount) * RoundTo.Amount, cost.Currency);
    }
}

/// <summary>Low, usual and high.</summary>
/// <param name="Low">In one case of ten it is less.</param>
/// <param name="Usual">As often less as more.</param>
/// <param name="High">In one case of ten it is more.</param>
public sealed record Spread(TimeSpan Low, TimeSpan Usual, TimeSpan High)
{
    internal bool Rises => Low <= Usual && Usual <= High;
}

/// <summary>What a failure takes.</summary>
/// <param name="Failure">Which.</param>
/// <param name="Bench">Bench time of the first try.</param>
/// <param name="Station">Time to read.</param>
/// <param name="DonorTries">How many donors are tried at most; 0 where none is needed.</param>
/// <param name="DonorWorks">The chance that one donor works.</param>
/// <param name="DonorPrice">What one usually costs.</param>
public sealed record FailureCost(Failure Failure, Spread Bench, Spread Station, int DonorTries, Probability DonorWorks, Money DonorPrice);
