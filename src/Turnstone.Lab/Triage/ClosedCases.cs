using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>What was seen of a patient: question and answer.</summary>
public sealed record TriageFindings
{
    /// <summary>What the case is called; may be empty.</summary>
    public string Case { get; init; } = "";

    /// <summary>Answers by the name of their question. What isn't known is left out.</summary>
    public required IReadOnlyDictionary<string, string> Answers { get; init; }

    /// <summary>Reads findings and checks them against the table's questions.</summary>
    public static Understood<TriageFindings> Read(string file, string text, TriageTable table) =>
        LabDocument.Read<TriageFindings>(file, text, f => ClosedCases.Complaints(f.Answers, table, "answers"));

    /// <summary>The answers as places in the table.</summary>
    /// <exception cref="ArgumentException">A question or an answer that the table doesn't have.</exception>
    internal IReadOnlyList<(Question Question, int Answer)> In(TriageTable table) =>
        ClosedCases.Complaints(Answers, table, "answers").Select(c => (string?)c.What).FirstOrDefault() is { } wrong
            ? throw new ArgumentException(wrong, nameof(table))
            : [.. Answers.Select(a => (table.Find(a.Key)!, table.Find(a.Key)!.Answers.ToList().IndexOf(a.Value)))];
}

/// <summary>A case that is over: what was seen at first and what it turned out to be.</summary>
/// <param name="Case">What it is called.</param>
/// <param name="Failure">What it turned out to be.</param>
/// <param name="Answers">What was seen.</param>
public sealed record ClosedCase(string Case, Failure Failure, IReadOnlyDictionary<string, string> Answers);

/// <summary>The lab's own cases, which move the table's numbers.</summary>
/// <remarks>
/// Dirichlet counts: a row of chances is worth <see cref="TriageTable.RowWeight"/> cases, each closed case counts one.
/// Predictive chance: (weight × table + seen) / (weight + all seen). Gelman et al., Bayesian Data Analysis, 3rd ed., 3.4 (from memory).
/// </remarks>
public sealed record ClosedCases
{
    /// <summary>No case yet.</summary>
    public static ClosedCases None { get; } = new() { Cases = [] };

    /// <summary>The cases, in the order of their closing.</summary>
    public required IReadOnlyList<ClosedCase> Cases { get; init; }

    /// <summary>Reads the document and checks it against the table's questions.</summary>
    public static Understood<ClosedCases> Read(string file, string text, TriageTable table) =>
        LabDocument.Read<ClosedCases>(file, text, closed => Check(closed, table));

    internal static IEnumerable<Complaint> Complaints(IReadOnlyDictionary<string, string> answers, TriageTable table, string where)
    {
        foreach ((string name, string answer) in answers)
        {
            if (table.Find(name) is not { } question)
                yield return new($"{where}.{name}", $"'{name}' is no question; questions are {string.Join(", ", table.Questions.Select(q => q.Name))}");
            else if (!question.Answers.Contains(answer))
                yield return new($"{where}.{name}", $"'{answer}' is no answer to '{name}'; answers are {string.Join(", ", question.Answers)}");
        }
    }

    internal Shares First(TriageTable table, Failure failure) => new(
        table.FirstWeight * table.Row(failure).First.Value, table.FirstWeight, Cases.Count(c => c.Failure == failure), Cases.Count);

    internal Shares Answer(TriageTable table, Question question, int answer, Failure failure)
    {
        IEnumerable<ClosedCase> seen = Cases.Where(c => c.Failure == failure && c.Answers.ContainsKey(question.Name));
        return new Shares(
            table.RowWeight * question.Chances[failure][answer].Value, table.RowWeight,
            seen.Count(c => c.Answers[question.Name] == question.Answers[answer]), seen.Count());
    }

    private static IEnumerable<Complaint> Check(ClosedCases closed, TriageTable table)
    {
        for (int i = 0; i < closed.Cases.Count; i++)
        {
            foreach (Complaint complaint in Complaints(closed.Cases[i].Answers, table, $"cases[{i}].answers"))
                yield return complaint;
            if (closed.Cases.Take(i).Any(c => c.Case == closed.Cases[i].Case))
                yield return new($"cases[{i}].case", $"'{closed.Cases[i].Case}' stands here twice");
        }
    }
}

/// <summary>A chance as counts: what the table brings and what the lab has seen.</summary>
/// <param name="TableHits">The table's share of the hits.</param>
/// <param name="TableTotal">What the table's row is worth.</param>
/// <param name="LabHits">Closed cases with this answer.</param>
/// <param name="LabTotal">Closed cases with any answer.</param>
internal readonly record struct Shares(double TableHits, double TableTotal, int LabHits, int LabTotal)
{
    public double Chance => (TableHits + LabHits) / (TableTotal + LabTotal);

    /// <summary>How much of the number is the table's.</summary>
    public Probability OfTable => new(TableTotal / (TableTotal + LabTotal));
}
