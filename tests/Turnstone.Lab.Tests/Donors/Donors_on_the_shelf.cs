using Turnstone.Bench;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Donors;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Donors;

/// <summary>The invented shelf of forty drives in demo/lab.</summary>
public class Donors_on_the_shelf
{
    internal static readonly DonorTable Table = DonorTable.Read(TableShelf.Shipped).Item();
    internal static readonly Currency Eur = new("EUR");
    private static readonly Stock Shelf = Stock.Read("shelf.json", Demo("shelf.json")).Item();
    private static readonly PatientDrive Patient = PatientDrive.Read("patient.json", Demo("patient.json")).Item();

    internal static IEnumerable<Bet> Bets => Ranked(Outcomes.None).Order.Tries.Select(t => t.Bet).Concat(Ranked(Outcomes.None).Order.Left);

    [Fact]
    public void Every_donor_is_either_ranked_or_ruled_out_with_a_reason()
    {
        Ranking ranking = Ranked(Outcomes.None);
        Assert.Equal(40, Shelf.Donors.Count);
        Assert.Equal(40, ranking.Ranked.Count + ranking.RuledOut.Count);
        Assert.All(ranking.RuledOut, r => Assert.NotEmpty(r.Because));
        Assert.All(ranking.Ranked, r => Assert.Equal(("Marl 5", 8), (r.Donor.Family, r.Donor.Heads)));
    }

    [Fact]
    public void Every_chance_is_explained_by_its_features_and_lies_in_its_range() => Assert.All(Ranked(Outcomes.None).Ranked, r =>
    {
        double logOdds = Table.BaseMean + r.Because.Sum(b => b.LogOdds);
        double plain = 1 / (1 + Math.Exp(-logOdds));
        Assert.InRange(plain, r.Range.Low.Value, r.Range.High.Value);
        Assert.InRange(r.Works.Value, r.Range.Low.Value, r.Range.High.Value);
    });

    [Fact]
    public void Used_and_spoiled_donors_are_ruled_out() =>
        Assert.Equal(["it is used", "it is spoiled"], Ranked(Outcomes.None).RuledOut.Where(r => r.Donor.Id is "D12" or "D28").Select(r => r.Because[0]));

    [Fact]
    public void Heads_of_the_patient_itself_never_come_back() =>
        Assert.Contains("it is the patient", Agreement.Of(Table, Patient, Shelf.Donors[0] with { Serial = Patient.Serial }).Conflicts);

    [Fact]
    public void After_thirty_outcomes_the_odds_have_moved_the_right_way()
    {
        // An invented world against the table: the site doesn't matter at all, the label code decides everything.
        var random = new Random(20);
        DonorOutcome[] tries = [.. Enumerable.Range(0, 30).Select(i =>
        {
            bool sameCode = random.Next(2) == 0, otherSite = random.Next(2) == 0;
            var counts = Table.Features.ToDictionary(f => f.Feature, f => f.Feature == Feature.LabelCode && sameCode ? 1.0 : f.Feature == Feature.Site && otherSite ? 1 : 0);
            return new DonorOutcome($"T{i}", "x", default, counts, Worked: random.NextDouble() < (sameCode ? 0.95 : 0.3), "");
        })];
        LogisticBelief before = Outcomes.None.Belief(Table), after = new Outcomes { Tries = tries }.Belief(Table);
        int code = 1 + Table.Features.ToList().FindIndex(f => f.Feature == Feature.LabelCode), site = 1 + Table.Features.ToList().FindIndex(f => f.Feature == Feature.Site);
        Assert.True(after.Weights[code] > before.Weights[code], "the label code counts for more");
        Assert.True(after.Weights[site] > before.Weights[site], "another site counts against less");
        Assert.All(after.Deviations.Zip(before.Deviations), d => Assert.True(d.First <= d.Second + 1e-9));
    }

    [Fact]
    public void A_success_makes_the_same_kind_of_donor_likelier_and_a_failure_less() => Gen.Bool.Array[1, 10].Sample(worked =>
    {
        var counts = Table.Features.ToDictionary(f => f.Feature, _ => 0.0);
        DonorOutcome[] tries = [.. worked.Select((w, i) => new DonorOutcome($"{i}", "x", default, counts, w, ""))];
        double chance = Chance(tries);
        return Chance([.. tries, tries[0] with { Worked = true }]) > chance && Chance([.. tries, tries[0] with { Worked = false }]) < chance;
    });

    [Theory]
    [InlineData("\"price\": \"180.00 EUR\"", "\"price\": \"180.00 CHF\"", "180.00 CHF is in another currency; this shelf is kept in EUR")]
    [InlineData("\"price\": \"180.00 EUR\"", "\"price\": \"-180.00 EUR\"", "a price is not negative")]
    [InlineData("\"price\": \"180.00 EUR\"", "\"price\": \"180.00\"", "names no currency")]
    [InlineData("\"id\": \"D02\"", "\"id\": \"D01\"", "'D01' is on the shelf twice")]
    [InlineData("\"state\": \"spoiled\"", "\"state\": \"broken\"", "'broken' is none of: bought, proven, used, spoiled")]
    public void A_bad_shelf_is_explained_with_its_line(string from, string to, string says)
    {
        string text = Demo("shelf.json");
        int at = text.IndexOf(from, StringComparison.Ordinal);
        Fault fault = Stock.Read("shelf.json", text[..at] + to + text[(at + from.Length)..]).Fault();
        Assert.Contains(says, fault.What);
        Assert.InRange(fault.Line, 1 + text[..at].Count(c => c == '\n'), 1 + text[..at].Count(c => c == '\n'));
    }

    [Fact]
    public void A_serial_number_on_the_shelf_twice_is_refused()
    {
        Stock twice = Shelf with { Donors = [.. Shelf.Donors, Shelf.Donors[3] with { Id = "D99" }] };
        Assert.Contains("is on the shelf twice", Stock.Read("shelf.json", LabDocument.Write(twice)).Fault().What);
    }

    [Fact]
    public void The_shelf_reads_back_as_written() =>
        Assert.Equal(LabDocument.Write(Shelf), LabDocument.Write(Stock.Read("shelf.json", LabDocument.Write(Shelf)).Item()));

    [Fact]
    public void A_donor_goes_from_bought_to_proven_to_used_and_its_cost_is_booked_once()
    {
        Stock stock = Shelf with { Donors = [Shelf.Donors[0] with { State = DonorState.Bought }] };
        string id = stock.Donors[0].Id;
        Assert.Null(stock.TryMove(id, DonorState.Proven, null, default, "all heads read", out stock));
        Assert.Contains("without a case", stock.TryMove(id, DonorState.Used, null, default, "", out stock));
        Assert.Null(stock.TryMove(id, DonorState.Used, "2026-014", default, "", out stock));
        Assert.Null(stock.TryMove(id, DonorState.Spoiled, "2026-014", default, "heads lost", out stock));
        Assert.Contains("it can't become proven", stock.TryMove(id, DonorState.Proven, null, default, "", out stock));
        Assert.Equal(stock.Donors[0].Price.Amount, stock.Donors[0].History.Sum(e => e.Booked.Amount));
    }

    internal static string Demo(string file) => File.ReadAllText(Path.Combine(Repository.Root, "demo", "lab", file));

    private static double Chance(IReadOnlyList<DonorOutcome> tries) => new Outcomes { Tries = tries }.Belief(Table).Chance([1, .. Table.Features.Select(_ => 0.0)]).Value;

    private static Ranking Ranked(Outcomes outcomes) => Ranking.Of(Table, outcomes, Shelf, Patient, new Money(250, Eur), new Money(1200, Eur));
}
