using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Donors;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone donor rank|worth</summary>
internal static class DonorChoice
{
    public static Command Rank()
    {
        var verb = new LabVerb("rank", "Ranks the shelf for a patient: what is ruled out and why, the chance of the rest with its range, feature by feature, the order to try them in and when to stop.",
            "turnstone donor rank patient.json --value \"1200 EUR\" --labour \"250 EUR\"");
        Argument<string> file = verb.Argument<string>("patient", "JSON file of the patient; docs/formats/lab-folder.md shows one.");
        (Option<string?> value, Option<string?> labour) = Money(verb);
        return verb.Runs(run =>
        {
            Stock stock = DonorVerbs.Stock(run);
            Ranking ranking = Ranking.Of(DonorTable.Read(run.Shelf).OrStop(), DonorVerbs.Tries(run), stock, LabRun.File(run.Get(file)!, PatientDrive.Read).OrStop(), In(run, labour, stock.Currency), In(run, value, stock.Currency));
            return run.Output.Show(ranking, o => People(o, ranking));
        });
    }

    public static Command Worth()
    {
        var verb = new LabVerb("worth", "Says whether a donor on offer is worth its price, what is the most to pay, and at what price to stop looking on.",
            "turnstone donor worth patient.json offer.json --price \"220 EUR\" --value \"1200 EUR\" --labour \"250 EUR\" --waiting \"40 EUR\"");
        Argument<string> patientFile = verb.Argument<string>("patient", "JSON file of the patient.");
        Argument<string> offerFile = verb.Argument<string>("offer", "JSON file of the donor on offer, in the form of a shelf with one donor.");
        Option<string?> price = verb.Text("--price", "What is asked.", "MONEY", required: true);
        Option<string?> waiting = verb.Text("--waiting", "What waiting for it costs the case.", "MONEY");
        Option<string[]> seen = verb.Texts("--seen", "A price at which such donors were offered lately; give several.", "MONEY");
        Option<string?> look = verb.Text("--look", "What one more look around costs. Needs --seen.", "MONEY");
        (Option<string?> value, Option<string?> labour) = Money(verb);
        return verb.Runs(run =>
        {
            DonorTable table = DonorTable.Read(run.Shelf).OrStop();
            PatientDrive patient = LabRun.File(run.Get(patientFile)!, PatientDrive.Read).OrStop();
            Stock offer = LabRun.File(run.Get(offerFile)!, Stock.Read).OrStop();
            Stock shelf = run.Folder.Read(DonorVerbs.StockFile, Stock.Read, offer with { Donors = [] });
            if (offer.Donors.Count != 1 || offer.Currency != shelf.Currency)
                throw new BadInputException($"{run.Get(offerFile)}: one donor in {shelf.Currency} is expected");
            RankedDonor rated = Ranking.Rate(table, DonorVerbs.Tries(run), patient, offer.Donors[0], out IReadOnlyList<string> conflicts)
                ?? throw new BadInputException($"the donor on offer is ruled out: {string.Join("; ", conflicts)}");
            Money work = In(run, labour, shelf.Currency), worth = In(run, value, shelf.Currency);
            TryOrder order = Ranking.Of(table, DonorVerbs.Tries(run), shelf, patient, work, worth).Order;
            Purchase purchase = Purchase.Weigh([.. order.Tries.Select(t => t.Bet)], Ranking.BetOn(table, patient, rated, work), In(run, price, shelf.Currency),
                run.Get(waiting) is null ? Turnstone.Lab.Values.Money.None(shelf.Currency) : In(run, waiting, shelf.Currency), worth);
            Money? stop = run.Get(look) is null ? null : Stop(run, seen, look, shelf.Currency);
            return run.Output.Show(new { rated.Works, rated.Range, rated.Because, Purchase = purchase, purchase.WorthNow, purchase.WorthWhenNeeded, TakeAtOrBelow = stop }, o => People(o, rated, purchase, stop));
        });
    }

    private static (Option<string?> Value, Option<string?> Labour) Money(LabVerb verb) =>
        (verb.Text("--value", "What success is worth to the lab, such as the price of the case.", "MONEY", required: true), verb.Text("--labour", "What the work of one try costs.", "MONEY", required: true));

    private static Money In(LabRun run, Option<string?> option, Currency currency) => Checked(option.Name, run.Need(option), currency);

    private static Money Checked(string what, string text, Currency currency)
    {
        Money money = LabRun.As<Money>(what, text, Turnstone.Lab.Values.Money.TryRead);
        if (money.Currency != currency)
            throw new BadInputException($"{what}: {money} is in another currency; this shelf is kept in {currency}");
        return money.Amount >= 0 ? money : throw new BadInputException($"{what}: {money} is negative");
    }

    private static Money Stop(LabRun run, Option<string[]> seen, Option<string?> look, Currency currency)
    {
        string[] prices = run.Get(seen) ?? [];
        Money cost = In(run, look, currency);
        if (prices.Length == 0 || cost.Amount == 0)
            throw new BadInputException("--look needs at least one price by --seen, and a cost above 0");
        return Offers.Reservation([.. prices.Select(p => Checked("--seen", p, currency))], cost);
    }

    private static void People(LabOutput o, Ranking ranking)
    {
        o.Say($"{ranking.Ranked.Count} donors may be tried, {ranking.RuledOut.Count} are ruled out. Trying {ranking.Order.Tries.Count} in the order below: {ranking.Order.Success} works, {ranking.Order.Lost} loses the patient, expected net value {ranking.Order.ExpectedNet}. {ranking.Outcomes} of the lab's own tries are counted in.");
        o.Table("Order to try (rank again after each try)", ["", "donor", "works", "cost", "worth going on above", "reached"], ranking.Order.Tries.Select((t, i) => (string[])
            [$"{i + 1}", t.Bet.Donor, $"{t.Bet.Works} ({Range(ranking, t.Bet.Donor)})", t.Bet.Cost.ToString(), t.Index.ToString(), t.Reached.ToString()]));
        o.List("Not worth a try", ranking.Order.Left.Select(b => $"{b.Donor}: works {b.Works}, costs {b.Cost}"));
        o.Table("Why", ["donor", "works", "feature by feature (log odds)"], ranking.Ranked.Select(r => (string[])[r.Donor.Id, r.Works.ToString(), Because(r)]));
        o.Table("Ruled out", ["donor", "because"], ranking.RuledOut.Select(r => (string[])[r.Donor.Id, string.Join("; ", r.Because)]));
    }

    private static void People(LabOutput o, RankedDonor rated, Purchase purchase, Money? stop)
    {
        o.Say($"{purchase.Sentence} It works with {rated.Works} ({rated.Range}): {Because(rated)}.");
        o.Say($"Expected net value: {purchase.NetWithout} without it, {purchase.NetBoughtNow} bought now, {purchase.NetBoughtWhenNeeded} bought when its turn comes.");
        if (stop is { } price)
            o.Say($"Looking on costs more than it brings once an offer is at or below {price}.");
    }

    private static string Because(RankedDonor r) => r.Because.Count == 0 ? "agrees in everything" : string.Join("; ", r.Because.Select(b => $"{Words.Of(b.Feature)} {b.LogOdds:+0.00;-0.00} ({b.Says}, counted {b.Count:0.##})"));

    private static string Range(Ranking ranking, string id) => ranking.Ranked.First(r => r.Donor.Id == id).Range.ToString();
}
