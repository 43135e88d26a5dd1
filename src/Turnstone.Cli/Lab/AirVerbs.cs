using System.CommandLine;
using Turnstone.Lab.Air;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone air class|plan|flow|settle|log</summary>
internal static class AirVerbs
{
    public const string LogFile = "cabinet-log.json";

    private const string FlowHelp = "What the counter draws (usually \"28.3 L/min\", a cubic foot a minute).";

    public static Command Make(TimeProvider clock)
    {
        var air = new Command("air", "Clean air: classes, sampling plans, cabinet flow, particles that settle, the log of checks.\n\nExample:\n  turnstone air class counts.csv --area \"0.72 m2\" --claim 5 --size \"0.5 um\"");
        foreach (Command verb in (Command[])[Class(), Plan(), Flow(), AirSettle.Make(), Log(clock)])
            air.Subcommands.Add(verb);
        return air;
    }

    private static Command Class()
    {
        var verb = new LabVerb("class", "Classes the counts of a particle counter by ISO 14644-1, with the sampling plan and a verdict.",
            "turnstone air class counts.csv --area \"0.72 m2\" --claim 5 --size \"0.5 um\" --size \"1 um\"");
        Argument<string> file = verb.Argument<string>("counts", "The counter's file: columns 'location', 'volume (L)' and one like '>=0.5 um' for each size.");
        ClaimOptions claim = ClaimOptions.On(verb);
        return verb.Runs(run =>
        {
            AirTable table = AirTable.Read(run.Shelf).OrStop();
            AirReading reading = LabRun.File(run.Get(file)!, AirReading.Read).OrStop();
            Stopping.StopOn(AirReport.TryJudge(table, reading, claim.Of(run), out AirReport? report));
            return run.Output.Show(report!, o => Verdict(o, report!), wrong: !report!.Holds);
        });
    }

    private static Command Plan()
    {
        var verb = new LabVerb("plan", "Says how much air must be counted at how many places for a class to be claimed.", "turnstone air plan --area \"24 m2\" --claim 7 --size \"0.5 um\" --size \"5 um\"");
        ClaimOptions claim = ClaimOptions.On(verb);
        return verb.Runs(run =>
        {
            AirClaim asked = claim.Of(run);
            Stopping.StopOn(SamplingPlan.TryMake(AirTable.Read(run.Shelf).OrStop(), asked.Area, asked.Class, asked.Sizes, asked.Flow, asked.Edition, out SamplingPlan? plan));
            return run.Output.Show(plan!, o => PlanFor(o, plan!));
        });
    }

    private static Command Flow()
    {
        var verb = new LabVerb("flow", "Computes a cabinet's volume flow from its face and velocities, and holds them against the band.",
            "turnstone air flow --width \"1.2 m\" --height \"0.6 m\" --velocity \"0.44 m/s\" --velocity \"0.46 m/s\" --depth \"0.6 m\"");
        Option<string?> width = verb.Text("--width", "Width of the face.", "LENGTH", required: true), height = verb.Text("--height", "Height of the face.", "LENGTH", required: true);
        Option<string?> depth = verb.Text("--depth", "Depth of the cabinet, for air changes and residence.", "LENGTH");
        Option<string[]> velocities = verb.Texts("--velocity", "A reading at the face, 150 to 300 mm from it; give all.", "SPEED");
        return verb.Runs(run =>
        {
            Speed[] readings = [.. (run.Get(velocities) ?? []).Select(v => LabRun.As<Speed>("--velocity", v, Quantity.TryRead))];
            Length w = run.Need<Length>(width, Quantity.TryRead), h = run.Need<Length>(height, Quantity.TryRead);
            if (readings.Length == 0 || readings.Average(r => r.MetresPerSecond) <= 0 || w.Metres * h.Metres <= 0)
                throw new BadInputException("--velocity: at least one reading above 0, and a face with an area, are needed");
            FaceFlow flow = FaceFlow.Of(w, h, readings, AirTable.Read(run.Shelf).OrStop().Face);
            Length? deep = run.Get(depth) is null ? null : run.Need<Length>(depth, Quantity.TryRead);
            return run.Output.Show(new { Flow = flow, flow.Uniformity, ChangesPerHour = deep is { } d ? flow.ChangesPerHour(d) : (double?)null }, o => FlowOf(o, flow, deep), wrong: !flow.InBand);
        });
    }

    private static Command Log(TimeProvider clock)
    {
        var verb = new LabVerb("log", "Keeps the checks of cabinets and says what is overdue.", "turnstone air log --cabinet \"bench 1\" --kind count --who \"R. Quell\" --good yes --note \"ISO 5 at 0.5 um\"");
        Option<string?> cabinet = verb.Text("--cabinet", "Which cabinet; without it the log is printed.", "NAME"), kind = verb.Text("--kind", "count, velocity or filter.", "KIND");
        Option<string?> who = verb.Text("--who", "Who checked.", "NAME"), good = verb.Text("--good", "yes or no.", "yes|no"), note = verb.Text("--note", "Numbers or words.", "TEXT");
        return verb.Runs(run => run.Folder.Change(() =>
        {
            CabinetLog log = run.Folder.Read(LogFile, CabinetLog.Read, CabinetLog.Empty);
            DateOnly today = DateOnly.FromDateTime(clock.GetLocalNow().Date);
            if (run.Get(cabinet) is { } name)
            {
                bool isGood = run.Need(good) switch { "yes" => true, "no" => false, var other => throw new BadInputException($"--good: '{other}'; write yes or no") };
                log = log with { Checks = [.. log.Checks, new CabinetCheck(name, run.Need<CabinetCheckKind>(kind, Words.TryRead), today, run.Need(who), isGood, run.Get(note) ?? "")] };
                run.Folder.Write(LogFile, log);
            }

            IReadOnlyList<string> reminders = log.Reminders(today, AirTable.Read(run.Shelf).OrStop().Checks);
            return run.Output.Show(new { log.Checks, Reminders = reminders }, o => Checks(o, log, reminders), wrong: reminders.Count > 0);
        }));
    }

    private static void Verdict(LabOutput o, AirReport report)
    {
        o.Say(report.Sentence);
        PlanFor(o, report.Plan);
        o.Table("Found (per m³, size and larger)", ["size", "worst place", "average", "may be up to (95 %)", "limit", "corresponds to", "volume allows", "holds"], report.Sizes.Select(s => (string[])
            [$"{s.Size.Micrometres:0.##} µm", s.WorstPlace, $"{s.Worst.PerCubicMetre:0.##}", $"{s.UpTo.PerCubicMetre:0.##}", $"{s.Limit.PerCubicMetre:0}", s.CorrespondsTo?.ToString() ?? "none", s.Claimable?.ToString() ?? "none", s.Passes ? "yes" : "NO"]));
    }

    private static void PlanFor(LabOutput o, SamplingPlan plan) => o.Table($"Plan for ISO class {plan.Class}: {Words.Count(plan.Locations, "place")}, at least {plan.Volume.Litres:0.00} L and {plan.Time.TotalMinutes:0.0} min at each",
        ["size", "limit per m³"], plan.Sizes.Zip(plan.Limits, (s, l) => (string[])[$"{s.Micrometres:0.##} µm", $"{l.PerCubicMetre:0}"]));

    private static void FlowOf(LabOutput o, FaceFlow flow, Length? depth)
    {
        o.Say($"{flow.Flow.CubicMetresPerHour:0.0} m³/h ({flow.Flow.CubicFeetPerMinute:0.0} ft³/min): mean {flow.Mean.MetresPerSecond:0.000} m/s over {flow.Face.SquareMetres:0.###} m², {(flow.InBand ? "inside" : "OUTSIDE")} the band {flow.Band.Low.MetresPerSecond:0.00} to {flow.Band.High.MetresPerSecond:0.00} m/s ({flow.Band.Source}).");
        o.Say($"Uniformity {flow.Uniformity:0.0%}, worst reading {flow.WorstFromMean:0.0%} from the mean; {flow.PointsRead} of {flow.PointsNeeded} points read{(flow.PointsRead < flow.PointsNeeded ? ": read more" : "")}.");
        if (depth is { } d)
            o.Say($"{flow.ChangesPerHour(d):0} air changes an hour, {flow.Residence(d).TotalSeconds:0.00} s residence.");
    }

    private static void Checks(LabOutput o, CabinetLog log, IReadOnlyList<string> reminders)
    {
        o.Say(reminders.Count == 0 ? "Nothing is overdue." : "Overdue or bad:");
        foreach (string reminder in reminders)
            o.Say("  " + reminder);
        o.Table("Checks", ["cabinet", "kind", "on", "who", "good", "note"], log.Checks.Select(c => (string[])[c.Cabinet, Words.Of(c.Kind), $"{c.On:yyyy-MM-dd}", c.Who, c.Good ? "yes" : "NO", c.Note]));
    }

    /// <summary>The options of a claim.</summary>
    private sealed record ClaimOptions(Option<string?> Area, Option<string?> Claim, Option<string[]> Sizes, Option<string?> Flow, Option<string?> Edition)
    {
        public static ClaimOptions On(LabVerb verb) => new(
            verb.Text("--area", "Area of the face or room.", "AREA", required: true), verb.Text("--claim", "The ISO class to claim, 1 to 9 in steps of 0.1.", "CLASS", required: true),
            verb.Texts("--size", "A particle size to consider; may be given several times.", "LENGTH"), verb.Text("--flow", FlowHelp, "FLOW"), verb.Text("--edition", "2015 (usual) or 1999.", "YEAR"));

        public AirClaim Of(LabRun run) => new(
            run.Need<IsoClass>(Claim, IsoClass.TryRead), [.. (run.Get(Sizes) ?? []).Select(s => LabRun.As<Length>("--size", s, Quantity.TryRead))],
            run.Need<Area>(Area, Quantity.TryRead), run.Or<Flow>(Flow, Quantity.TryRead, new Flow(0.0283 / 60)),
            run.Get(Edition) switch { null or "2015" => Turnstone.Lab.Air.Edition.Iso2015, "1999" => Turnstone.Lab.Air.Edition.Iso1999, var other => throw new BadInputException($"--edition: '{other}'; write 2015 or 1999") });
    }
}
