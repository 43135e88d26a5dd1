using System.CommandLine;
using System.Text.Json;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone triage</summary>
internal static class TriageVerb
{
    public const string ClosedFile = "closed-cases.json";

    public static Command Make()
    {
        var verb = new LabVerb("triage",
            "Says from findings which failure is probable, what to look at next and what not to do. It is never certain: mind the second-best explanation. Local codes and licensed practice come first.",
            "turnstone triage --answer \"history=dropped while off\" --answer powered=no --answer \"spin=does not spin\"");
        Argument<string?> file = verb.Argument<string?>("findings", "JSON file: { \"answers\": { \"sound\": \"clicks\" } }.", ArgumentArity.ZeroOrOne);
        Option<string[]> answers = verb.Texts("--answer", "One finding, QUESTION=ANSWER; may be given several times.", "Q=A");
        Option<bool> questions = verb.Switch("--questions", "Print the questions with their answers and stop.");
        Option<string?> was = verb.Text("--closed-as", "The case is over: count its findings in under this failure from now on. Needs --case.", "FAILURE");
        Option<string?> caseName = verb.Text("--case", "What the case is called.", "NAME");
        return verb.Runs(run =>
        {
            TriageTable table = TriageTable.Read(run.Shelf).OrStop();
            if (run.Get(questions))
                return run.Output.Show(table.Questions, o => Questions(o, table));
            TriageFindings findings = Seen(run.Get(file), run.Get(answers) ?? [], table);
            if (run.Get(was) is not null)
                return Close(run, table, findings, run.Need(caseName), run.Need<Failure>(was, Words.TryRead));
            ClosedCases closed = Closed(run, table);
            TriageReport report = TriageReport.Of(table, closed, findings);
            return run.Output.Show(report, o => People(o, report, table));
        });
    }

    /// <summary>Findings from a file, from options, or both; an option wins.</summary>
    public static TriageFindings Seen(string? file, string[] answers, TriageTable table)
    {
        TriageFindings findings = file is null ? new TriageFindings { Answers = new Dictionary<string, string>() } : LabRun.File(file, (f, t) => TriageFindings.Read(f, t, table)).OrStop();
        var all = new Dictionary<string, string>(findings.Answers);
        foreach (string answer in answers)
        {
            int at = answer.IndexOf('=', StringComparison.Ordinal);
            if (at < 1)
                throw new BadInputException($"--answer '{answer}': write QUESTION=ANSWER, like \"sound=clicks\"");
            all[answer[..at].Trim()] = answer[(at + 1)..].Trim();
        }

        return TriageFindings.Read("--answer", JsonSerializer.Serialize(findings with { Answers = all }, LabJson.OneLine), table).OrStop();
    }

    /// <summary>The lab's own closed cases.</summary>
    public static ClosedCases Closed(LabRun run, TriageTable table) => run.Folder.Read(ClosedFile, (f, t) => ClosedCases.Read(f, t, table), ClosedCases.None);

    private static int Close(LabRun run, TriageTable table, TriageFindings findings, string name, Failure failure) => run.Folder.Change(() =>
    {
        ClosedCases closed = Closed(run, table);
        if (closed.Cases.Any(c => c.Case == name))
            throw new BadInputException($"case '{name}' was counted in before; each case counts once");
        run.Folder.Write(ClosedFile, closed with { Cases = [.. closed.Cases, new ClosedCase(name, failure, findings.Answers)] });
        return run.Output.Show(new { Case = name, Failure = failure, Cases = closed.Cases.Count + 1 }, o => o.Say($"Case {name} counts as {Words.Of(failure)}; {closed.Cases.Count + 1} of the lab's own cases are counted in."));
    });

    private static void Questions(LabOutput o, TriageTable table) =>
        o.Table("Questions", ["name", "question", "answers"], table.Questions.Select(q => (string[])[q.Name, q.Asks, string.Join(" | ", q.Answers)]));

    private static void People(LabOutput o, TriageReport report, TriageTable table)
    {
        o.Say(report.Sentence);
        o.List("Do not", report.Forbidden.Select(f => $"{f} (harm {f.Harm})"));
        o.Table("What it may be", ["failure", "chance", "for and against (times as probable as under all others)"],
            report.Suspects.Take(6).Select(s => (string[])[Words.Of(s.Failure), s.Chance.ToString(), string.Join("; ", s.Because.Take(4).Select(b => $"{b.Question} {b.Answer} ×{b.TimesMoreThanOthers:0.##}"))]));
        o.Table("What to look at next", ["check", "tells, bits", "harm", "takes", "mind"],
            report.Checks.Where(c => c.ExpectedBits > 0.001).Select(c => (string[])[c.Forbidden ? $"NOT: {c.Name}" : c.Name, c.ExpectedBits.ToString("0.00"), c.Harm.ToString(), Durations.Write(c.Takes), c.Caution]));
        o.Say($"The numbers behind the first explanation are {report.TableShare.Value:0%} the table's and {report.TableShare.Not.Value:0%} the lab's own ({Words.Count(report.ClosedCases, "closed case")}). Table: {table.Source}");
    }
}
