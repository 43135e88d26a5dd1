using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Triage;

/// <summary>Check values: the facts of the trade (common practice, no source).</summary>
public class Triage_of_the_shown_patients
{
    internal static readonly TriageFindings Dropped = Seen(("form", "portable"), ("history", "dropped while off"), ("powered", "no"), ("spin", "does not spin"));
    internal static readonly TriageFindings DroppedAndClicked = Seen(("form", "portable"), ("history", "dropped while off"), ("powered", "yes"), ("sound", "clicks"));
    private static readonly TriageTable Table = TriageTable.Read(TableShelf.Shipped).Item();

    [Fact]
    public void A_drive_dropped_while_off_that_does_not_turn_has_stuck_heads_by_far()
    {
        TriageReport report = TriageReport.Of(Table, ClosedCases.None, Dropped);
        Assert.Equal(Failure.StuckHeads, report.First.Failure);
        Assert.True(report.First.Chance.Value > 3 * report.Second.Chance.Value, report.Sentence);
    }

    [Fact]
    public void Power_is_forbidden_on_it_because_heads_may_be_on_the_surface()
    {
        TriageReport report = TriageReport.Of(Table, ClosedCases.None, Dropped);
        ForbiddenStep power = Assert.Single(report.Forbidden, f => f.Name == "apply power");
        Assert.Equal("heads may be on the surface", power.Because);
        Assert.Equal(report.First.Chance.Value, power.Chance.Value, 1e-12);
    }

    [Fact]
    public void Nobody_is_asked_what_a_drive_without_power_sounded_like() =>
        Assert.DoesNotContain(TriageReport.Of(Table, ClosedCases.None, Dropped).Checks, c => c.Question == "sound");

    [Fact]
    public void Its_outlook_is_good_while_nobody_tried_to_free_it() =>
        Assert.Contains("Outlook good", TriageReport.Of(Table, ClosedCases.None, Dropped).Sentence);

    [Fact]
    public void The_same_drive_powered_and_clicking_has_another_first_failure_a_lower_outlook_and_another_next_step()
    {
        TriageReport before = TriageReport.Of(Table, ClosedCases.None, Dropped), after = TriageReport.Of(Table, ClosedCases.None, DroppedAndClicked);
        Assert.Equal(Failure.FailedHeads, after.First.Failure);
        Assert.True(after.Outlook.Value < before.Outlook.Value);
        Assert.NotEqual(before.Next!.Name, after.Next!.Name);
    }

    [Fact]
    public void The_second_best_explanation_is_always_said()
    {
        TriageReport report = TriageReport.Of(Table, ClosedCases.None, Dropped);
        Assert.Contains(Words.Of(report.Second.Failure), report.Sentence);
    }

    internal static TriageFindings Seen(params (string Question, string Answer)[] answers) =>
        new() { Answers = answers.ToDictionary(a => a.Question, a => a.Answer) };
}
