using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>What must hold in a triage table before anything is computed with it.</summary>
internal static class TriageTableRules
{
    // Rows are written with two or three digits; more than their rounding is a mistake.
    private const double SumTolerance = 0.005;

    public static IEnumerable<Complaint> Check(TriageTable table) =>
        Numbers(table).Concat(Failures(table)).Concat(Questions(table)).Concat(Checks(table)).Concat(Steps(table)).Concat(Factors(table));

    private static IEnumerable<Complaint> Numbers(TriageTable table)
    {
        if (table.Source.Length == 0)
            yield return new("source", "says nothing; name where the numbers come from");
        if (!(table.RowWeight > 0))
            yield return new("rowWeight", $"{table.RowWeight}: must be above 0");
        if (!(table.FirstWeight > 0))
            yield return new("firstWeight", $"{table.FirstWeight}: must be above 0");
        if (!(table.BitsPerLoss > 0))
            yield return new("bitsPerLoss", $"{table.BitsPerLoss}: must be above 0");
    }

    private static IEnumerable<Complaint> Failures(TriageTable table)
    {
        foreach (Failure failure in Enum.GetValues<Failure>())
        {
            int rows = table.Failures.Count(r => r.Failure == failure);
            if (rows != 1)
                yield return new("failures", $"'{Words.Of(failure)}' stands here {rows} times; expected once");
        }

        if (Sum("failures", "the first chances", table.Failures.Select(r => r.First)) is { } wrong)
            yield return wrong;
    }

    private static IEnumerable<Complaint> Questions(TriageTable table)
    {
        for (int i = 0; i < table.Questions.Count; i++)
        {
            Question question = table.Questions[i];
            if (table.Questions.Take(i).Any(q => q.Name == question.Name))
                yield return new($"questions[{i}].name", $"'{question.Name}' is asked twice");
            foreach (Failure failure in Enum.GetValues<Failure>())
            {
                if (Row(question, failure, $"questions[{i}].chances") is { } wrong)
                    yield return wrong;
            }
        }
    }

    private static Complaint? Row(Question question, Failure failure, string where)
    {
        if (!question.Chances.TryGetValue(failure, out IReadOnlyList<Probability>? row))
            return new Complaint(where, $"no row for '{Words.Of(failure)}'");
        string place = $"{where}.{Words.Of(failure)}";
        if (row.Count != question.Answers.Count)
            return new Complaint(place, $"{row.Count} numbers for {question.Answers.Count} answers");
        if (row.Any(p => p.Value == 0))
            return new Complaint(place, "a chance of 0 would claim certainty; write at least 0.001");
        return Sum(place, "the chances", row);
    }

    private static Complaint? Sum(string where, string what, IEnumerable<Probability> row)
    {
        double sum = row.Sum(p => p.Value);
        return Math.Abs(sum - 1) <= SumTolerance ? null : new Complaint(where, $"{what} sum to {sum:0.###}; expected 1");
    }

    private static IEnumerable<Complaint> Checks(TriageTable table)
    {
        for (int i = 0; i < table.Checks.Count; i++)
        {
            if (table.Find(table.Checks[i].Answers) is null)
                yield return new($"checks[{i}].answers", $"'{table.Checks[i].Answers}' is no question; questions are {string.Join(", ", table.Questions.Select(q => q.Name))}");
            foreach (Complaint complaint in ClosedCases.Complaints(table.Checks[i].Unless, table, $"checks[{i}].unless"))
                yield return complaint;
        }
    }

    private static IEnumerable<Complaint> Steps(TriageTable table)
    {
        for (int i = 0; i < table.Steps.Count; i++)
        {
            foreach (Failure failure in table.Steps[i].Harm.Keys.Where(f => !table.Steps[i].Because.ContainsKey(f)))
                yield return new($"steps[{i}].because", $"gives no reason for '{Words.Of(failure)}'");
        }
    }

    private static IEnumerable<Complaint> Factors(TriageTable table)
    {
        for (int i = 0; i < table.OutlookFactors.Count; i++)
        {
            OutlookFactor factor = table.OutlookFactors[i];
            if (table.Find(factor.Question)?.Answers.Contains(factor.Answer) != true)
                yield return new($"outlookFactors[{i}].answer", $"'{factor.Answer}' is no answer to '{factor.Question}'");
        }
    }
}
