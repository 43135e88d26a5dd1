using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>One explanation of what was seen.</summary>
/// <param name="Failure">Which.</param>
/// <param name="Chance">How probable it is after all answers; never 1.</param>
/// <param name="Because">What each answer did to it, the strongest first.</param>
/// <param name="TableShare">How much of the numbers behind it is the table's; the rest is the lab's own closed cases.</param>
public sealed record Suspect(Failure Failure, Probability Chance, IReadOnlyList<Reason> Because, Probability TableShare);

/// <summary>What one answer did to one explanation.</summary>
/// <param name="Question">Name of the question.</param>
/// <param name="Answer">What was answered.</param>
/// <param name="TimesMoreThanOthers">How many times as probable the answer is under this explanation as under all others together; below 1 it speaks against.</param>
public sealed record Reason(string Question, string Answer, double TimesMoreThanOthers);

/// <summary>Which failure it is, by Bayes' rule.</summary>
/// <remarks>
/// The model: exactly one failure comes first, and given the failure the answers are independent of each other. They are not quite
/// (a drive that doesn't spin is also silent), so odds come out too sharp rather than too blunt; 'something else' with flat chances
/// keeps every explanation below 1. What a certain answer can't be is impossible: the table has no zeros.
/// </remarks>
public static class Diagnosis
{
    /// <summary>All failures, the most probable first.</summary>
    /// <param name="table">The chances.</param>
    /// <param name="closed">The lab's own cases.</param>
    /// <param name="findings">What was seen.</param>
    /// <exception cref="ArgumentException">Findings that were not checked against this table: a question or an answer that it doesn't have.</exception>
    public static IReadOnlyList<Suspect> Of(TriageTable table, ClosedCases closed, TriageFindings findings)
    {
        IReadOnlyList<(Question, int)> seen = findings.In(table);
        double[] chances = Posterior(table, closed, seen);
        return [.. Enum.GetValues<Failure>()
            .Select(f => new Suspect(f, Probability.Near(chances[(int)f]), Reasons(table, closed, seen, chances, f), TableShare(table, closed, seen, f)))
            .OrderByDescending(s => s.Chance).ThenBy(s => s.Failure)];
    }

    internal static double[] Posterior(TriageTable table, ClosedCases closed, IReadOnlyList<(Question Question, int Answer)> seen)
    {
        Failure[] failures = Enum.GetValues<Failure>();
        // In logarithms: a long list of answers must not underflow.
        double[] logs = [.. failures.Select(f => Math.Log(closed.First(table, f).Chance)
            + seen.Sum(s => Math.Log(closed.Answer(table, s.Question, s.Answer, f).Chance)))];
        double top = logs.Max();
        double[] weights = [.. logs.Select(l => Math.Exp(l - top))];
        double total = weights.Sum();
        return [.. weights.Select(w => w / total)];
    }

    private static List<Reason> Reasons(TriageTable table, ClosedCases closed, IReadOnlyList<(Question Question, int Answer)> seen, double[] chances, Failure failure)
    {
        double others = 1 - chances[(int)failure];
        return [.. seen.Select(s => new Reason(s.Question.Name, s.Question.Answers[s.Answer], Ratio(s))).OrderByDescending(r => Math.Abs(Math.Log(r.TimesMoreThanOthers)))];

        double Ratio((Question Question, int Answer) s)
        {
            double elsewhere = Enum.GetValues<Failure>().Where(f => f != failure)
                .Sum(f => chances[(int)f] / others * closed.Answer(table, s.Question, s.Answer, f).Chance);
            return closed.Answer(table, s.Question, s.Answer, failure).Chance / elsewhere;
        }
    }

    private static Probability TableShare(TriageTable table, ClosedCases closed, IReadOnlyList<(Question Question, int Answer)> seen, Failure failure) =>
        Probability.Near(seen.Select(s => closed.Answer(table, s.Question, s.Answer, failure).OfTable.Value)
            .Append(closed.First(table, failure).OfTable.Value).Average());
}
