using Turnstone.Lab.Documents;
using Turnstone.Lab.Quotes;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Quotes;

public class Quotes_of_trees
{
    internal static readonly CostTable Costs = CostTable.Read(TableShelf.Shipped).Item() with
    {
        BenchHour = Eur(100), StationHour = Eur(10), Price = new PriceRule(0.5, Eur(0), Eur(1), Eur(50), OnlyForData: false),
    };

    // Worked by hand: bench 1 h in any case (100); 0.25: two hours more and a donor (100 + 200 + 300 = 600), success 0.8; 0.75: ten hours of a station (100 + 100 = 200), success 0.4.
    private const string Tree = """
        {
          "what": "case", "chance": 1, "bench": "60 min",
          "branches": [
            { "what": "heads", "chance": 0.25, "bench": "2 h", "donors": "300.00 EUR", "success": 0.8 },
            { "what": "read", "chance": 0.75, "station": "10 h", "success": 0.4 }
          ]
        }
        """;

    [Fact]
    public void Expectation_range_time_and_chance_of_a_tree_worked_by_hand()
    {
        Quote quote = Quote.Of(Read(Tree), Costs);
        Assert.Equal((300, 200, 600), (quote.Expected.Amount, quote.Low.Amount, quote.High.Amount));
        Assert.Equal((90, 450), (quote.Bench.TotalMinutes, quote.Station.TotalMinutes));
        Assert.Equal(0.5, quote.Success.Value, 1e-12);
        Assert.Equal((450, 300, 900), (quote.Price.Amount, quote.PriceLow.Amount, quote.PriceHigh.Amount));
    }

    [Fact]
    public void Paid_only_for_data_all_cases_together_still_bring_cost_and_margin()
    {
        CostTable costs = Costs with { Price = Costs.Price with { OnlyForData = true } };
        Quote quote = Quote.Of(Read(Tree), costs);
        double income = (quote.Success.Value * (double)quote.Price.Amount) + (quote.Success.Not.Value * (double)quote.WithoutData.Amount);
        Assert.Equal(450, income, 0.5);
    }

    [Fact]
    public void A_price_is_rounded_up_and_never_below_the_minimum()
    {
        PriceRule rule = Costs.Price with { RoundTo = Eur(10), Minimum = Eur(190) };
        Assert.Equal((190, 460), (rule.Of(Eur(1), new Probability(1)).Amount, rule.Of(Eur(301), new Probability(1)).Amount));
    }

    [Theory]
    [InlineData("\"chance\": 0.75", "\"chance\": 0.5", 3, "the chances sum to 0.75; expected 1")]
    [InlineData("300.00 EUR", "300.00 CHF", 4, "300.00 CHF is in another currency; the lab reckons in EUR")]
    [InlineData("300.00 EUR", "-3.00 EUR", 4, "a cost is not negative")]
    [InlineData(", \"success\": 0.8", "", 4, "must say its success")]
    [InlineData("\"2 h\"", "\"2\"", 4, "no unit of time")]
    [InlineData("\"2 h\"", "\"-2 h\"", 4, "no length of time")]
    [InlineData("0.4", "1.4", 5, "'1.4' is no probability")]
    [InlineData("\"what\": \"read\", ", "", 5, "missing: what")]
    public void A_bad_tree_is_explained_with_its_line(string from, string to, int line, string says)
    {
        int at = Tree.IndexOf(from, StringComparison.Ordinal);
        Fault fault = QuoteNode.Read("tree.json", Tree[..at] + to + Tree[(at + from.Length)..], new Currency("EUR")).Fault();
        Assert.Contains(says, fault.What);
        Assert.Equal(line, fault.Line);
    }

    [Fact]
    public void At_the_end_cost_is_set_against_the_quote()
    {
        Actual actual = Actual.Read("actual.json", """{ "case": "2026-014", "bench": "4 h", "station": "20 h", "donors": "300.00 EUR", "media": "0.00 EUR", "consumables": "5.00 EUR", "success": true }""", new Currency("EUR")).Item();
        Settlement settlement = Settlement.Of(Quote.Of(Read(Tree), Costs), actual, Costs);
        Assert.Equal((905, 605, false), (settlement.Cost.Amount, settlement.Over.Amount, settlement.InRange));
        Assert.Equal((150, 750), (settlement.BenchOver.TotalMinutes, settlement.StationOver.TotalMinutes));
        Assert.Equal(-455, settlement.Left.Amount);
    }

    [Fact]
    public void A_cost_table_in_two_currencies_is_refused() => Assert.Contains("kept in EUR",
        CostTable.Read(Answered.Edited("costs.json", "\"stationHour\": \"2.50 EUR\"", "\"stationHour\": \"2.50 CHF\"")).Fault().What);

    internal static Money Eur(decimal amount) => new(amount, new Currency("EUR"));

    private static QuoteNode Read(string text) => QuoteNode.Read("tree.json", text, new Currency("EUR")).Item();
}
