using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Triage;

public class Edited_triage_tables
{
    [Fact]
    public void An_unknown_failure_is_named_with_file_line_and_what_was_expected()
    {
        TableShelf shelf = Answered.Edited("triage.json", "\"failure\": \"seized spindle\"", "\"failure\": \"seized spindel\"");
        Fault fault = TriageTable.Read(shelf).Fault();
        Assert.Equal("triage.json", fault.File);
        Assert.Equal(Answered.LineOf(shelf, "triage.json", "seized spindel"), fault.Line);
        Assert.Contains("'seized spindel' is none of: stuck heads, seized spindle", fault.What);
    }

    [Fact]
    public void A_row_that_does_not_sum_to_one_is_named_with_its_line()
    {
        TableShelf shelf = Answered.Edited("triage.json", "\"stuck heads\": [0.35, 0.55, 0.1]", "\"stuck heads\": [0.35, 0.35, 0.1]");
        Fault fault = TriageTable.Read(shelf).Fault();
        Assert.Equal(Answered.LineOf(shelf, "triage.json", "[0.35, 0.35, 0.1]"), fault.Line);
        Assert.Contains("sum to 0.8; expected 1", fault.What);
    }

    [Fact]
    public void First_chances_that_do_not_sum_to_one_are_refused() =>
        Assert.Contains("the first chances sum to", TriageTable.Read(Answered.Edited("triage.json", "\"first\": 0.08", "\"first\": 0.5")).Fault().What);

    [Fact]
    public void A_chance_above_one_is_refused_with_its_line()
    {
        TableShelf shelf = Answered.Edited("triage.json", "\"harmLimit\": 0.05", "\"harmLimit\": 1.05");
        Assert.Equal($"triage.json, line {Answered.LineOf(shelf, "triage.json", "1.05")}, harmLimit: '1.05' is no probability; expected a number from 0 to 1", TriageTable.Read(shelf).Fault().ToString());
    }

    [Fact]
    public void A_chance_of_zero_is_refused_because_it_claims_certainty() =>
        Assert.Contains("claim certainty", TriageTable.Read(Answered.Edited("triage.json", "\"stuck heads\": [0.35, 0.55, 0.1]", "\"stuck heads\": [0.45, 0.55, 0]")).Fault().What);

    [Fact]
    public void A_missing_row_names_the_failure() =>
        Assert.Contains("no row for 'stuck heads'", TriageTable.Read(Answered.Edited("triage.json", "\"stuck heads\": [0.35, 0.55, 0.1],", "")).Fault().What);

    [Fact]
    public void A_misspelt_name_is_said_to_be_unknown() =>
        Assert.Contains("'harmLimt' is not known here", TriageTable.Read(Answered.Edited("triage.json", "\"harmLimit\"", "\"harmLimt\"")).Fault().What);

    [Fact]
    public void A_missing_name_is_named() =>
        Assert.Contains("missing: harmLimit", TriageTable.Read(Answered.Edited("triage.json", "\"harmLimit\": 0.05,", "")).Fault().What);

    [Fact]
    public void An_unknown_answer_in_findings_lists_the_answers()
    {
        TriageTable table = TriageTable.Read(TableShelf.Shipped).Item();
        Fault fault = TriageFindings.Read("case.json", "{\n  \"answers\": {\n    \"sound\": \"klicks\"\n  }\n}", table).Fault();
        Assert.Equal(3, fault.Line);
        Assert.Contains("'klicks' is no answer to 'sound'; answers are silent, steady spin, clicks", fault.What);
    }

    [Fact]
    public void Findings_that_were_not_checked_against_the_table_are_refused_at_the_door() => Assert.Throws<ArgumentException>(() =>
        TriageReport.Of(TriageTable.Read(TableShelf.Shipped).Item(), ClosedCases.None, Triage_of_the_shown_patients.Seen(("smell", "burnt"))));

    [Fact]
    public void A_table_file_with_an_unknown_name_lists_the_tables() =>
        Assert.Contains("triage.json", TableShelf.Shipped.With([("triag.json", "{}")]).Fault().What);

    [Fact]
    public void Any_text_gets_an_answer_and_never_an_exception() =>
        Gen.String.Sample(text => TriageTable.Read(TableShelf.Shipped.With([("triage.json", text)]).Item()) is not null);
}
