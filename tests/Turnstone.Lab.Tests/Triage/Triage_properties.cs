using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Triage;

public class Triage_properties
{
    private static readonly TriageTable Table = TriageTable.Read(TableShelf.Shipped).Item();

    private static readonly Gen<TriageFindings> AnyFindings = Gen.Int[0, 10].Array[Table.Questions.Count].Select(picks => new TriageFindings
    {
        Answers = Table.Questions.Zip(picks).Where(x => x.Second < x.First.Answers.Count).ToDictionary(x => x.First.Name, x => x.First.Answers[x.Second]),
    });

    [Fact]
    public void Chances_sum_to_one_and_none_is_certain() => AnyFindings.Sample(findings =>
    {
        TriageReport report = TriageReport.Of(Table, ClosedCases.None, findings);
        return Math.Abs(report.Suspects.Sum(s => s.Chance.Value) - 1) < 1e-9 && report.Suspects.All(s => s.Chance.Value < 1);
    });

    [Fact]
    public void A_harmful_check_never_comes_before_a_harmless_one_that_could_settle_it() => AnyFindings.Sample(findings =>
    {
        IReadOnlyList<RankedCheck> checks = TriageReport.Of(Table, ClosedCases.None, findings).Checks;
        int lastHarmless = checks.ToList().FindLastIndex(c => c.Harm.Value <= Table.Harmless.Value && c.ExpectedBits >= Table.WorthAskingBits);
        return checks.Take(Math.Max(0, lastHarmless)).All(c => c.Harm.Value <= Table.Harmless.Value);
    });

    [Fact]
    public void A_forbidden_check_is_never_the_next_one() => AnyFindings.Sample(findings =>
        TriageReport.Of(Table, ClosedCases.None, findings).Next is not { Forbidden: true });

    [Fact]
    public void No_answer_is_expected_to_make_us_know_less() => AnyFindings.Sample(findings =>
        TriageReport.Of(Table, ClosedCases.None, findings).Checks.All(c => c.ExpectedBits >= 0));

    [Fact]
    public void Doing_a_check_leaves_on_average_what_its_expected_bits_promise()
    {
        TriageFindings findings = Triage_of_the_shown_patients.Dropped;
        TriageReport now = TriageReport.Of(Table, ClosedCases.None, findings);
        RankedCheck look = now.Checks.Single(c => c.Question == "heads");
        Question question = Table.Questions.Single(q => q.Name == "heads");
        double after = question.Answers.Select((answer, a) =>
            now.Suspects.Sum(s => s.Chance.Value * question.Chances[s.Failure][a].Value)
            * TriageReport.Of(Table, ClosedCases.None, findings with { Answers = new Dictionary<string, string>(findings.Answers) { ["heads"] = answer } }).UncertaintyBits).Sum();
        Assert.Equal(now.UncertaintyBits - after, look.ExpectedBits, 1e-9);
    }

    [Fact]
    public void Twelve_equal_chances_are_log2_of_twelve_bits() =>
        Assert.Equal(3.584962500721156, NextChecks.Entropy(Enumerable.Repeat(1 / 12.0, 12)), 1e-12);
}
