using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>What triage says of a patient.</summary>
/// <param name="Suspects">All explanations, the most probable first.</param>
/// <param name="Checks">What could be looked at next, in that order.</param>
/// <param name="Forbidden">What must not be done, with the reason.</param>
/// <param name="Outlook">The chance that the client's files come back.</param>
/// <param name="TableShare">How much of the numbers behind the first explanation is the table's; the rest is the lab's own.</param>
/// <param name="ClosedCases">How many of the lab's own cases were counted in.</param>
/// <param name="UncertaintyBits">How undecided it is: 0 is certain, 3.6 is knowing nothing.</param>
public sealed record TriageReport(
    IReadOnlyList<Suspect> Suspects, IReadOnlyList<RankedCheck> Checks, IReadOnlyList<ForbiddenStep> Forbidden,
    Probability Outlook, Probability TableShare, int ClosedCases, double UncertaintyBits)
{
    /// <summary>The most probable explanation.</summary>
    public Suspect First => Suspects[0];

    /// <summary>The explanation to keep in mind beside it.</summary>
    public Suspect Second => Suspects[1];

    /// <summary>The check to make next; null where none is left that is not forbidden and tells anything.</summary>
    public RankedCheck? Next => Checks.FirstOrDefault(c => !c.Forbidden && c.ExpectedBits > 0.001);

    /// <summary>The situation in a sentence.</summary>
    public string Sentence =>
        $"Probably {Words.Of(First.Failure)} ({First.Chance}); the next best explanation is {Words.Of(Second.Failure)} ({Second.Chance}). Outlook {OutlookWord} ({Outlook}).";

    private string OutlookWord => Outlook.Value switch { >= 0.75 => "good", >= 0.5 => "fair", >= 0.25 => "doubtful", _ => "poor" };

    /// <summary>Weighs what was seen.</summary>
    /// <param name="table">The chances.</param>
    /// <param name="closed">The lab's own cases.</param>
    /// <param name="findings">What was seen.</param>
    /// <exception cref="ArgumentException">Findings that were not checked against this table: a question or an answer that it doesn't have.</exception>
    public static TriageReport Of(TriageTable table, ClosedCases closed, TriageFindings findings)
    {
        IReadOnlyList<Suspect> suspects = Diagnosis.Of(table, closed, findings);
        return new TriageReport(
            suspects, NextChecks.Rank(table, closed, findings), NextChecks.Forbidden(table, suspects),
            Probability.Near(suspects.Sum(s => s.Chance.Value * OutlookOf(table, findings, s.Failure))),
            suspects[0].TableShare, closed.Cases.Count, NextChecks.Entropy(suspects.Select(s => s.Chance.Value)));
    }

    /// <summary>The chance that the files come back if this is the failure.</summary>
    /// <param name="table">The chances.</param>
    /// <param name="findings">What was seen.</param>
    /// <param name="failure">Which failure.</param>
    public static Probability OutlookFor(TriageTable table, TriageFindings findings, Failure failure) => new(OutlookOf(table, findings, failure));

    private static double OutlookOf(TriageTable table, TriageFindings findings, Failure failure) => table.OutlookFactors
        .Where(f => f.Failure == failure && findings.Answers.TryGetValue(f.Question, out string? answer) && answer == f.Answer)
        .Aggregate(table.Row(failure).Outlook.Value, (outlook, f) => outlook * f.Factor.Value);
}
