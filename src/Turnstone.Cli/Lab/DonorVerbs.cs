using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Donors;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone donor add|list|mark|rank|worth|outcome</summary>
internal static class DonorVerbs
{
    public const string StockFile = "stock.json", OutcomesFile = "donor-outcomes.json";

    public static Command Make(TimeProvider clock)
    {
        var donor = new Command("donor", "The shelf of donors: what is there, which one to try, what to pay, how it went.\n\nExample:\n  turnstone donor rank patient.json --value \"1200 EUR\" --labour \"250 EUR\"");
        foreach (Command verb in (Command[])[Add(), List(), Mark(clock), DonorChoice.Rank(), DonorChoice.Worth(), Outcome(clock)])
            donor.Subcommands.Add(verb);
        return donor;
    }

    public static Stock Stock(LabRun run) => run.Folder.Has(StockFile)
        ? run.Folder.Read(StockFile, Turnstone.Lab.Donors.Stock.Read, new Stock { Currency = default, Donors = [] })
        : throw new BadInputException($"{run.Folder.In(StockFile)}: the shelf is empty; add donors with 'turnstone donor add'");

    public static Outcomes Tries(LabRun run) => run.Folder.Read(OutcomesFile, Outcomes.Read, Outcomes.None);

    private static Command Add()
    {
        var verb = new LabVerb("add", "Puts donors on the shelf.", "turnstone donor add bought.json");
        Argument<string> file = verb.Argument<string>("donors", "JSON file: { \"currency\": \"EUR\", \"donors\": [ ... ] }; docs/formats/lab-folder.md shows one.");
        return verb.Runs(run => run.Folder.Change(() =>
        {
            Stock added = LabRun.File(run.Get(file)!, Turnstone.Lab.Donors.Stock.Read).OrStop();
            Stock stock = run.Folder.Read(StockFile, Turnstone.Lab.Donors.Stock.Read, added with { Donors = [] });
            foreach (Donor donor in added.Donors)
                Stopping.StopOn(stock.TryAdd(donor, out stock));
            run.Folder.Write(StockFile, stock);
            return run.Output.Show(new { Added = added.Donors.Count, OnShelf = stock.Donors.Count }, o => o.Say($"{Words.Count(added.Donors.Count, "donor")} added; {stock.Donors.Count} are on the shelf."));
        }));
    }

    private static Command List()
    {
        var verb = new LabVerb("list", "Lists the shelf with the life of each donor.", "turnstone donor list");
        return verb.Runs(run =>
        {
            Stock stock = Stock(run);
            return run.Output.Show(stock, o => o.Table($"{stock.Donors.Count} donors", ["id", "serial", "model", "firmware", "heads", "site", "made", "price", "stands", "booked"], stock.Donors.Select(d => (string[])
                [d.Id, d.Serial.Text, d.Model, d.Firmware, $"{d.Heads}", d.Site ?? "?", d.Made?.ToString("yyyy-MM-dd") ?? "?", d.Price.ToString(), Words.Of(d.State), string.Join("; ", d.History.Where(h => h.Booked.Amount != 0).Select(h => $"{h.Booked} to {h.Case}"))])));
        });
    }

    private static Command Mark(TimeProvider clock)
    {
        var verb = new LabVerb("mark", "Moves a donor on in its life: proven (all heads seen to read) or spoiled.", "turnstone donor mark D07 proven --note \"all ten heads read\"");
        Argument<string> id = verb.Argument<string>("id", "The lab's number of the donor.");
        Argument<string> to = verb.Argument<string>("state", "proven or spoiled.");
        Option<string?> caseName = verb.Text("--case", "The case that its cost is booked to.", "NAME");
        Option<string?> note = verb.Text("--note", "In words.", "TEXT");
        return verb.Runs(run => run.Folder.Change(() =>
        {
            Stopping.StopOn(Stock(run).TryMove(run.Get(id)!, LabRun.As<DonorState>("state", run.Get(to)!, Words.TryRead), run.Get(caseName), Today(clock), run.Get(note) ?? "", out Stock stock));
            run.Folder.Write(StockFile, stock);
            Donor donor = stock.Donors.First(d => d.Id == run.Get(id));
            return run.Output.Show(donor, o => o.Say($"Donor {donor.Id} is {Words.Of(donor.State)}."));
        }));
    }

    private static Command Outcome(TimeProvider clock)
    {
        var verb = new LabVerb("outcome", "Records how a donor did in a patient: it counts in the odds from now on, and its cost is booked to the case.",
            "turnstone donor outcome D07 --patient patient.json --case 2026-014 --worked yes --note \"all heads read 3.9 TB\"");
        Argument<string> id = verb.Argument<string>("id", "The lab's number of the donor.");
        Option<string?> patient = verb.Text("--patient", "JSON file of the patient.", "FILE", required: true);
        Option<string?> caseName = verb.Text("--case", "The case.", "NAME", required: true);
        Option<string?> worked = verb.Text("--worked", "yes or no.", "yes|no", required: true);
        Option<string?> note = verb.Text("--note", "In words.", "TEXT");
        return verb.Runs(run => run.Folder.Change(() =>
        {
            DonorTable table = DonorTable.Read(run.Shelf).OrStop();
            PatientDrive of = LabRun.File(run.Need(patient), PatientDrive.Read).OrStop();
            Stock before = Stock(run);
            Stopping.StopOn(before.TryMove(run.Get(id)!, DonorState.Used, run.Need(caseName), Today(clock), run.Get(note) ?? "", out Stock stock));
            Outcomes tries = Tries(run);
            var outcome = new DonorOutcome(run.Get(id)!, run.Need(caseName), Today(clock), Agreement.Of(table, of, before.Donors.First(d => d.Id == run.Get(id))).Counts, YesOrNo(run.Need(worked)), run.Get(note) ?? "");
            // The outcome first: should the second write fail, the odds have learnt and the donor is still offered, which a person sees.
            run.Folder.Write(OutcomesFile, tries with { Tries = [.. tries.Tries, outcome] });
            run.Folder.Write(StockFile, stock);
            return run.Output.Show(outcome, o => o.Say($"Donor {outcome.Donor} {(outcome.Worked ? "worked" : "did not work")} in case {outcome.Case}; tries counted in: {tries.Tries.Count + 1}."));
        }));
    }

    private static bool YesOrNo(string text) => text switch { "yes" => true, "no" => false, _ => throw new BadInputException($"--worked: '{text}'; write yes or no") };

    private static DateOnly Today(TimeProvider clock) => DateOnly.FromDateTime(clock.GetLocalNow().Date);
}
