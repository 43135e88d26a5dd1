using System.Text.Json;

namespace Turnstone.Cli.Tests.Lab;

public sealed class What_the_lab_shows : IDisposable
{
    private readonly LabCommand _lab = new();

    [Fact]
    public void A_dropped_drive_has_stuck_heads_first_no_power_and_a_good_outlook()
    {
        string shown = _lab.Good("triage", LabCommand.Demo("dropped.json"));
        Assert.StartsWith("Probably stuck heads (", shown);
        Assert.Contains("Outlook good", shown);
        Assert.Contains("apply power: heads may be on the surface, 0.", shown);
        Assert.Contains("lab's own (0 closed cases)", shown);
    }

    [Fact]
    public void The_same_drive_that_clicked_has_failed_heads_first() =>
        Assert.StartsWith("Probably failed heads (", _lab.Good("triage", LabCommand.Demo("clicked.json")));

    [Fact]
    public void Its_protocol_takes_the_ramp_out_first_and_has_hold_points()
    {
        string shown = _lab.Good("protocol", "--failure", "stuck heads", "--drive", LabCommand.Demo("drive.json"));
        Assert.InRange(shown.IndexOf("ramp out first", StringComparison.Ordinal), 1, shown.IndexOf("release the heads", StringComparison.Ordinal));
        Assert.Contains("HOLD surface seen", shown);
        Assert.Contains("Local codes and licensed practice come first.", shown);
    }

    [Fact]
    public void Its_quote_has_a_range() => Assert.Matches(@"^Price [\d.]+ EUR \(from [\d.]+ EUR to [\d.]+ EUR\)", _lab.Good("quote", "--findings", LabCommand.Demo("dropped.json"), "--drive", LabCommand.Demo("drive.json")));

    [Fact]
    public void The_tree_of_a_quote_can_be_edited_and_quoted()
    {
        File.WriteAllText(_lab["tree.json"], _lab.Good("quote", "--findings", LabCommand.Demo("dropped.json"), "--tree"));
        Assert.StartsWith("Price", _lab.Good("quote", _lab["tree.json"]));
    }

    [Fact]
    public void A_closed_case_is_set_against_its_quote() =>
        Assert.Contains("EUR; expected", _lab.Good("quote", "--findings", LabCommand.Demo("dropped.json"), "--actual", LabCommand.Demo("actual.json")));

    [Fact]
    public void Closed_cases_move_the_odds_and_the_share_is_shown()
    {
        double before = First();
        for (int i = 0; i < 10; i++)
            _lab.Good("triage", LabCommand.Demo("dropped.json"), "--closed-as", "seized spindle", "--case", $"c{i}");
        Assert.True(First() < before);
        Assert.Contains("(10 closed cases)", _lab.Good("triage", LabCommand.Demo("dropped.json")));
        Assert.Contains("counted in before", _lab.Bad("triage", LabCommand.Demo("dropped.json"), "--closed-as", "seized spindle", "--case", "c3"));

        double First() => Json("triage", LabCommand.Demo("dropped.json")).RootElement.GetProperty("suspects").EnumerateArray().First(s => s.GetProperty("failure").GetString() == "stuck heads").GetProperty("chance").GetDouble();
    }

    [Fact]
    public void Forty_donors_are_ranked_and_explained_and_thirty_outcomes_count()
    {
        _lab.Good("donor", "add", LabCommand.Demo("shelf.json"));
        string[] rank = ["donor", "rank", LabCommand.Demo("patient.json"), "--value", "1200 EUR", "--labour", "250 EUR"];
        Assert.Contains("0 of the lab's own tries are counted in", _lab.Good(rank));
        JsonElement[] ranked = [.. Json(rank).RootElement.GetProperty("ranked").EnumerateArray()];
        string[] ids = [.. ranked.Select(r => r.GetProperty("donor").GetProperty("id").GetString()!)];
        foreach (string id in ids.Skip(2).Take(30))
            _lab.Good("donor", "outcome", id, "--patient", LabCommand.Demo("patient.json"), "--case", "c", "--worked", "no");
        JsonElement after = Json(rank).RootElement;
        JsonElement best = after.GetProperty("ranked").EnumerateArray().First(r => r.GetProperty("donor").GetProperty("id").GetString() == ids[0]);
        Assert.True(best.GetProperty("works").GetDouble() < ranked[0].GetProperty("works").GetDouble());
        Assert.Equal(Math.Min(30, ids.Length - 2), after.GetProperty("outcomes").GetInt32());
    }

    [Fact]
    public void A_candidate_has_a_most_to_pay()
    {
        _lab.Good("donor", "add", LabCommand.Demo("shelf.json"));
        Assert.Contains("the most to pay is", _lab.Good("donor", "worth", LabCommand.Demo("patient.json"), LabCommand.Demo("offer.json"), "--price", "180 EUR", "--value", "1200 EUR", "--labour", "250 EUR", "--seen", "180 EUR", "--seen", "260 EUR", "--look", "15 EUR"));
    }

    [Fact]
    public void A_counter_file_is_classed_with_its_plan_and_a_failed_claim_ends_with_2()
    {
        string[] claim = ["air", "class", LabCommand.Demo("counts.csv"), "--area", "0.72 m2", "--size", "0.5 um", "--claim"];
        string shown = _lab.Good([.. claim, "5"]);
        Assert.StartsWith("ISO class 5 holds at 0.5 µm.", shown);
        Assert.Contains("1 place, at least 5.68 L and 1.0 min at each", shown);
        Assert.Equal(2, _lab.Run([.. claim, "4"]).Code);
    }

    [Fact]
    public void Cabinet_checks_are_kept_and_overdue_ones_end_with_2()
    {
        foreach (string kind in (string[])["count", "velocity", "filter"])
            _lab.Run("air", "log", "--cabinet", "bench 1", "--kind", kind, "--who", "R. Quell", "--good", "yes");
        Assert.StartsWith("Nothing is overdue.", _lab.Good("air", "log"));
        _lab.Clock.Advance(TimeSpan.FromDays(181));
        (int code, string shown, _) = _lab.Run("air", "log");
        Assert.Equal(2, code);
        Assert.Contains("is 1 day over its 180 days", shown);
    }

    [Fact]
    public void Marks_are_shown_and_labels_drawn()
    {
        string shown = _lab.Good("tag", "WQX4417KQ", "WQX4404MT", "--for", "WQX4417KQ", "--part", "heads", "--part", "ramp", "--labels", _lab["labels.pdf"]);
        Assert.Contains("7KQ-HEADS", shown);
        Assert.StartsWith("%PDF", File.ReadAllText(_lab["labels.pdf"]));
        _lab.Good("tag", "WQX4417KQ", "--part", "heads", "--part", "ramp", "--labels", _lab["l.png"], "--code", "data matrix");
        Assert.True(File.Exists(_lab["l.png"]) && File.Exists(_lab["l.2.png"]));
    }

    [Fact]
    public void Particles_flow_and_plan_are_computed()
    {
        Assert.StartsWith("About 2.90 particles", _lab.Good("air", "settle", "--class", "5", "--open", "30 min"));
        Assert.Contains("1166.4 m³/h", _lab.Good("air", "flow", "--width", "1.2 m", "--height", "0.6 m", "--velocity", "0.45 m/s"));
        Assert.Contains("6 places, at least 6.83 L", _lab.Good("air", "plan", "--area", "24 m2", "--claim", "7", "--size", "0.5 um", "--size", "5 um"));
    }

    public void Dispose() => _lab.Dispose();

    private JsonDocument Json(params string[] arguments) => JsonDocument.Parse(_lab.Good([.. arguments, "--json"]));
}
