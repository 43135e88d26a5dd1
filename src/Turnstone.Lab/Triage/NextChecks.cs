using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>A check that could come next.</summary>
/// <param name="Name">What is done.</param>
/// <param name="Question">Which question it answers.</param>
/// <param name="ExpectedBits">How much it is expected to tell about the failure.</param>
/// <param name="Harm">How probable it is that doing it makes the patient worse.</param>
/// <param name="Takes">How long it takes.</param>
/// <param name="Caution">What to mind.</param>
/// <param name="Forbidden">Whether its harm is above the table's limit; such a check is listed last and never advised.</param>
public sealed record RankedCheck(string Name, string Question, double ExpectedBits, Probability Harm, TimeSpan Takes, string Caution, bool Forbidden);

/// <summary>A step that must not be taken.</summary>
/// <param name="Name">What.</param>
/// <param name="Harm">How probable it is that it makes the patient worse.</param>
/// <param name="Because">The main reason.</param>
/// <param name="Failure">The failure behind the reason.</param>
/// <param name="Chance">The probability of all failures that have this reason.</param>
public sealed record ForbiddenStep(string Name, Probability Harm, string Because, Failure Failure, Probability Chance)
{
    /// <inheritdoc/>
    public override string ToString() => Chance.Value < 0.99 ? $"{Name}: {Because}, {Chance}" : $"{Name}: {Because}";
}

/// <summary>What to look at next, and what to leave alone.</summary>
internal static class NextChecks
{
    /// <summary>Checks whose question is still open, in the order to consider them.</summary>
    /// <remarks>
    /// Value: mutual information between answer and failure (Lindley 1956; Cover and Thomas, Elements of Information Theory, ch. 2, from memory),
    /// less the expected harm at the table's exchange rate. A harmless check that tells enough goes before every harmful one, whatever that would tell.
    /// </remarks>
    public static IReadOnlyList<RankedCheck> Rank(TriageTable table, ClosedCases closed, TriageFindings findings)
    {
        double[] now = Diagnosis.Posterior(table, closed, findings.In(table));
        return [.. table.Checks.Where(c => !findings.Answers.ContainsKey(c.Answers) && !c.Unless.Any(u => findings.Answers.GetValueOrDefault(u.Key) == u.Value))
            .Select(c => Weigh(table, closed, now, c))
            .OrderBy(c => Class(table, c)).ThenByDescending(c => c.ExpectedBits - (table.BitsPerLoss * c.Harm.Value)).ThenBy(c => c.Takes)];
    }

    /// <summary>Steps whose expected harm is above the table's limit, the worst first.</summary>
    public static IReadOnlyList<ForbiddenStep> Forbidden(TriageTable table, IReadOnlyList<Suspect> suspects) =>
        [.. table.Steps.Select(s => (Step: s, Harm: Harm(s.Harm, suspects.ToDictionary(x => x.Failure, x => x.Chance.Value))))
            .Where(s => s.Harm > table.HarmLimit.Value)
            .OrderByDescending(s => s.Harm)
            .Select(s => Reasoned(s.Step, s.Harm, suspects))];

    /// <summary>Bits of uncertainty in a row of chances.</summary>
    internal static double Entropy(IEnumerable<double> chances) => -chances.Where(p => p > 0).Sum(p => p * Math.Log2(p));

    private static RankedCheck Weigh(TriageTable table, ClosedCases closed, double[] now, Check check)
    {
        Question question = table.Find(check.Answers)!;
        double after = 0;
        for (int a = 0; a < question.Answers.Count; a++)
        {
            double[] joint = [.. now.Select((p, f) => p * closed.Answer(table, question, a, (Failure)f).Chance)];
            double chance = joint.Sum();
            after += chance * Entropy(joint.Select(j => j / chance));
        }

        double harm = Harm(check.Harm, now.Select((p, f) => (p, f)).ToDictionary(x => (Failure)x.f, x => x.p));
        return new RankedCheck(check.Name, question.Name, Math.Max(0, Entropy(now) - after), Probability.Near(harm), check.Takes, check.Caution, harm > table.HarmLimit.Value);
    }

    private static int Class(TriageTable table, RankedCheck check)
    {
        if (check.Forbidden)
            return 3;
        bool harmless = check.Harm.Value <= table.Harmless.Value;
        return harmless && check.ExpectedBits >= table.WorthAskingBits ? 0 : harmless ? 2 : 1;
    }

    private static double Harm(IReadOnlyDictionary<Failure, Probability> harm, Dictionary<Failure, double> chances) =>
        harm.Sum(h => h.Value.Value * chances[h.Key]);

    private static ForbiddenStep Reasoned(Step step, double harm, IReadOnlyList<Suspect> suspects)
    {
        Suspect main = suspects.Where(s => step.Harm.ContainsKey(s.Failure)).MaxBy(s => s.Chance.Value * step.Harm[s.Failure].Value)!;
        string reason = step.Because[main.Failure];
        double chance = suspects.Where(s => step.Because.GetValueOrDefault(s.Failure) == reason).Sum(s => s.Chance.Value);
        return new ForbiddenStep(step.Name, Probability.Near(harm), reason, main.Failure, Probability.Near(chance));
    }
}
