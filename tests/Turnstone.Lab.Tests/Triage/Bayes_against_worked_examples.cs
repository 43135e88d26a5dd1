using System.Globalization;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Triage;

public class Bayes_against_worked_examples
{
    [Theory]
    // Screening example: 1 % base rate, 80 % hits, 9.6 % false alarms, answer 7.8 %. Eddy 1982 in Kahneman, Slovic and Tversky, Judgment under Uncertainty, ch. 18 (from memory).
    [InlineData(0.01, 0.8, 0.096, 0.078)]
    // Taxicab problem: 15 % blue, witness right in 80 %, answer 41 %. Tversky and Kahneman 1982, same book, ch. 10 (from memory).
    [InlineData(0.15, 0.8, 0.2, 0.41)]
    public void Two_hypotheses_and_one_answer(double first, double hit, double falseAlarm, double expected)
    {
        TriageTable table = TwoSided(first, hit, falseAlarm);
        Suspect suspect = Diagnosis.Of(table, ClosedCases.None, Triage_of_the_shown_patients.Seen(("test", "positive"))).Single(s => s.Failure == Failure.StuckHeads);
        Assert.Equal(expected, suspect.Chance.Value, 0.005);
    }

    [Fact]
    public void Closed_cases_move_the_first_chances_as_counts_do()
    {
        // Dirichlet counts: (weight x table + seen) / (weight + all seen) = (10 x 0.2 + 3) / (10 + 5) = 1/3; Gelman et al., Bayesian Data Analysis, 3.4 (from memory).
        TriageTable table = TwoSided(0.2, 0.5, 0.5) with { FirstWeight = 10 };
        Assert.Equal(1.0 / 3, Chance(table, Closed(Failure.StuckHeads, 3, "positive", Failure.Logical, 2)), 1e-8);
    }

    [Fact]
    public void Closed_cases_move_an_answers_chance_and_say_how_much_is_the_labs()
    {
        TriageTable table = TwoSided(0.5, 0.5, 0.5) with { RowWeight = 8, FirstWeight = 1e9 };
        ClosedCases closed = Closed(Failure.StuckHeads, 8, "positive", Failure.Logical, 0);
        Suspect suspect = Diagnosis.Of(table, closed, Triage_of_the_shown_patients.Seen(("test", "positive"))).Single(s => s.Failure == Failure.StuckHeads);
        // (8 x 0.5 + 8) / 16 = 0.75 against 0.5 elsewhere: 0.75 / 1.25 = 0.6.
        Assert.Equal(0.6, suspect.Chance.Value, 1e-6);
        Assert.Equal(0.75, suspect.TableShare.Value, 1e-6);
    }

    private static double Chance(TriageTable table, ClosedCases closed) =>
        Diagnosis.Of(table, closed, Triage_of_the_shown_patients.Seen()).Single(s => s.Failure == Failure.StuckHeads).Chance.Value;

    private static ClosedCases Closed(Failure one, int ones, string answer, Failure other, int others) => new()
    {
        Cases = [.. Enumerable.Range(0, ones + others).Select(i => new ClosedCase($"{i}", i < ones ? one : other, new Dictionary<string, string> { ["test"] = answer }))],
    };

    // One failure against another that has the rest; the remaining ten are given 1e-9 so that all rows are there.
    private static TriageTable TwoSided(double first, double hit, double falseAlarm)
    {
        string failures = string.Join(",", Enum.GetValues<Failure>().Select(f => $$"""{ "failure": "{{Words.Of(f)}}", "first": {{Text(First(f))}}, "outlook": 0.5, "means": "" }"""));
        string rows = string.Join(",", Enum.GetValues<Failure>().Select(f => $"\"{Words.Of(f)}\": [{Text(Hit(f))}, {Text(1 - Hit(f))}]"));
        string text = $$"""
            { "source": "test", "rowWeight": 20, "firstWeight": 20, "harmLimit": 0.05, "harmless": 0.01, "worthAskingBits": 0.05, "bitsPerLoss": 40,
              "failures": [ {{failures}} ], "questions": [ { "name": "test", "asks": "", "answers": ["positive", "negative"], "chances": { {{rows}} } } ],
              "checks": [], "steps": [], "outlookFactors": [] }
            """;
        return LabDocument.Read<TriageTable>("test.json", text, TriageTableRules.Check).Item();

        double First(Failure f) => f == Failure.StuckHeads ? first : f == Failure.Logical ? 1 - first : 1e-9;
        double Hit(Failure f) => f == Failure.StuckHeads ? hit : falseAlarm;
        static string Text(double value) => value.ToString("0.############", CultureInfo.InvariantCulture);
    }
}
