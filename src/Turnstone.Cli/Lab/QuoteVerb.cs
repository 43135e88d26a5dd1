using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Quotes;
using Turnstone.Lab.Triage;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone quote</summary>
internal static class QuoteVerb
{
    public static Command Make()
    {
        var verb = new LabVerb("quote", "Works out what a case may cost: expected cost, range, chance of success, price by the lab's rule; at the end, cost against quote.",
            "turnstone quote --answer \"history=dropped while off\" --answer powered=no --answer \"spin=does not spin\" --drive drive.json");
        Argument<string?> file = verb.Argument<string?>("tree", "JSON file of what may happen; without it the tree is made of findings.", ArgumentArity.ZeroOrOne);
        Option<string?> findings = verb.Text("--findings", "JSON file of findings, as for triage.", "FILE"), drive = verb.Text("--drive", "JSON file of how the drive is built, as for protocol.", "FILE");
        Option<string[]> answers = verb.Texts("--answer", "One finding, QUESTION=ANSWER; may be given several times.", "Q=A");
        Option<string?> actual = verb.Text("--actual", "JSON file of what the case really took: set it against the quote.", "FILE");
        Option<bool> tree = verb.Switch("--tree", "Print the tree itself, to edit it.");
        return verb.Runs(run =>
        {
            CostTable costs = CostTable.Read(run.Shelf).OrStop();
            QuoteNode root = run.Get(file) is { } path
                ? LabRun.File(path, (f, t) => QuoteNode.Read(f, t, costs.Currency)).OrStop()
                : OfFindings(run, run.Get(findings), run.Get(answers) ?? [], run.Get(drive), costs);
            Quote quote = Quote.Of(root, costs);
            if (run.Get(actual) is { } took)
                return Settle(run, quote, LabRun.File(took, (f, t) => Actual.Read(f, t, costs.Currency)).OrStop(), costs);
            return run.Get(tree) ? run.Output.Show(root, o => o.Document(root)) : run.Output.Show(quote, o => People(o, quote, costs));
        });
    }

    private static QuoteNode OfFindings(LabRun run, string? file, string[] answers, string? drive, CostTable costs)
    {
        if (file is null && answers.Length == 0)
            throw new BadInputException("a tree, --findings or --answer is needed: what is the quote for?");
        TriageTable table = TriageTable.Read(run.Shelf).OrStop();
        TriageFindings findings = TriageVerb.Seen(file, answers, table);
        TriageReport report = TriageReport.Of(table, TriageVerb.Closed(run, table), findings);
        Plan? plan = drive is null ? null : Plan.Make(run.Shelf, report.First.Failure, LabRun.File(drive, DriveBuild.Read).OrStop()).OrStop();
        return TriageTree.Of(report, table, findings, costs, plan);
    }

    private static int Settle(LabRun run, Quote quote, Actual actual, CostTable costs)
    {
        Settlement settlement = Settlement.Of(quote, actual, costs);
        return run.Output.Show(settlement, o =>
        {
            o.Say($"Case {actual.Case} cost {settlement.Cost}, {(settlement.InRange ? "inside" : "OUTSIDE")} the quoted range {quote.Low} to {quote.High}; expected {settlement.Expected}, over by {settlement.Over}.");
            o.Say($"Bench {Hours(actual.Bench)} (expected {Hours(quote.Bench)}), station {Hours(actual.Station)} (expected {Hours(quote.Station)}). Paid {settlement.Paid}, left {settlement.Left}.");
        });
    }

    private static void People(LabOutput o, Quote quote, CostTable costs)
    {
        o.Say($"Price {quote.Price} (from {quote.PriceLow} to {quote.PriceHigh}); {quote.WithoutData} where nothing comes back. Chance of success {quote.Success}.");
        o.Say($"Cost to the lab {quote.Expected} expected, {quote.Low} to {quote.High} in eight cases of ten; bench {Hours(quote.Bench)}, station {Hours(quote.Station)}.");
        o.Table("The most probable ways", ["way", "chance", "bench", "station", "cost", "success"], quote.Ends.Take(10).Select(e => (string[])
            [string.Join(" > ", e.Way.Skip(1)), e.Chance.ToString(), Hours(e.Bench), Hours(e.Station), Rounded(e.Cost), e.Success.ToString()]));
        o.Say($"{quote.Ends.Count} ways in all. Costs: {costs.Source}");
    }

    private static string Rounded(Turnstone.Lab.Values.Money money) => $"{money.Amount:0} {money.Currency}";

    private static string Hours(TimeSpan time) => $"{time.TotalHours:0.0} h";
}
