using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Quotes;
using Turnstone.Lab.Triage;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone protocol</summary>
internal static class ProtocolVerb
{
    public static Command Make(TimeProvider clock)
    {
        var verb = new LabVerb("protocol",
            "Prints the ordered plan for a failure and a drive, with tools, cautions and hold points; signs its steps. Opening a drive outside clean air destroys it. Local codes and licensed practice come first.",
            "turnstone protocol --failure \"stuck heads\" --drive drive.json --case 2026-014 --sign \"air checked\" --who \"R. Quell\"");
        Option<string?> failure = verb.Text("--failure", "What is treated, in triage's words.", "FAILURE", required: true);
        Option<string?> drive = verb.Text("--drive", "JSON file: { \"parking\": \"ramp\", \"heads\": 10, \"platters\": 5, \"lowerHeads\": \"unknown\" }.", "FILE", required: true);
        Option<string?> caseName = verb.Text("--case", "The case whose signatures count.", "NAME");
        Option<string?> sign = verb.Text("--sign", "Sign this step. Needs --case and --who.", "STEP");
        Option<string?> who = verb.Text("--who", "Who signs.", "NAME");
        Option<string[]> photos = verb.Texts("--photo", "A photo that belongs to the signature; before, then after.", "FILE");
        return verb.Runs(run =>
        {
            Plan plan = Plan.Make(run.Shelf, run.Need<Failure>(failure, Words.TryRead), LabRun.File(run.Need(drive), DriveBuild.Read).OrStop()).OrStop();
            var ledger = new LabLedger(run.Folder);
            if (run.Get(sign) is { } step)
                return run.Folder.Change(() => Sign(run, ledger, plan, new SignedStep(run.Need(caseName), step, run.Need(who), clock.GetUtcNow(), plan.Digest, [.. (run.Get(photos) ?? []).Select(Kept)])));
            IReadOnlyList<SignedStep> signed = run.Get(caseName) is { } name ? ledger.Signed(name) : [];
            CostTable costs = CostTable.Read(run.Shelf).OrStop();
            IReadOnlyList<Standing> standings = Signatures.Of(plan, signed);
            return run.Output.Show(new { plan.Title, plan.Failure, plan.Source, plan.Digest, plan.Takes, plan.Uses, plan.Parts, plan.Cautions, Steps = standings }, o => People(o, plan, standings, costs));
        });
    }

    private static int Sign(LabRun run, LabLedger ledger, Plan plan, SignedStep signature)
    {
        SignedStep done = Signatures.Sign(plan, ledger.Signed(signature.Case), signature).Match(d => d, why => throw new BadInputException(why));
        ledger.Append(done);
        return run.Output.Show(new { Signed = done, LedgerHead = ledger.Head }, o => o.Say($"Signed: {done.Step}, by {done.Who}. Ledger head {ledger.Head.Hex[..16]}… (keep it elsewhere too)."));
    }

    private static Photo Kept(string path) => File.Exists(path)
        ? new Photo(Path.GetFileName(path), Sha256Digest.Of(File.ReadAllBytes(path)))
        : throw new BadInputException($"{path}: there is no such photo");

    private static void People(LabOutput o, Plan plan, IReadOnlyList<Standing> standings, CostTable costs)
    {
        o.Say($"{plan.Title}: {plan.Steps.Count} steps, {Durations.Write(plan.Takes)}, {plan.Steps.Count(s => s.Hold is not null)} hold points. {plan.Source}");
        o.List("Cautions", plan.Cautions);
        o.Table("Steps", ["", "step", "do", "tools and cautions", "takes", "stands"], standings.Select((s, i) => (string[])
        [
            $"{i + 1}", s.Step.Hold is null ? s.Step.Name : $"HOLD {s.Step.Name}", s.Step.Hold is null ? s.Step.Do : $"{s.Step.Do} Sign: {s.Step.Hold}",
            string.Join(" ", [.. s.Step.Tools.Select(t => $"[{t}]"), .. s.Step.Cautions, .. s.Step.Tags.Select(t => $"Tag: {t}.")]),
            Durations.Write(s.Step.Takes), s.Signed is { } done ? $"signed, {done.Who}" : s.WaitsFor ?? "NEXT",
        ]));
        o.Table("Used up", ["item", "count", "cost"], plan.Uses.Select(u => (string[])[u.Item, $"{u.Count}", costs.Consumables.TryGetValue(u.Item, out Money price) ? (price * u.Count).ToString() : "no price"]));
    }
}
