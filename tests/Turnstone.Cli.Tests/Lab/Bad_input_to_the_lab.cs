using System.CommandLine;
using Turnstone.Cli.Lab;

namespace Turnstone.Cli.Tests.Lab;

public sealed class Bad_input_to_the_lab : IDisposable
{
    private readonly LabCommand _lab = new();

    public static TheoryData<string> Verbs => [.. LabVerbs.All().SelectMany(v => v.Subcommands.Count == 0 ? [v.Name] : v.Subcommands.Select(s => $"{v.Name} {s.Name}"))];

    [Theory]
    [MemberData(nameof(Verbs))]
    public void The_help_of_every_verb_has_an_example(string verb)
    {
        string help = _lab.Good([.. verb.Split(' '), "--help"]);
        Assert.Contains("Example:", help);
        Assert.Contains($"turnstone {verb}", help);
    }

    [Theory]
    [InlineData("'sund' is no question; questions are history", "triage", "--answer", "sund=clicks")]
    [InlineData("'klicks' is no answer to 'sound'; answers are silent", "triage", "--answer", "sound=klicks")]
    [InlineData("write QUESTION=ANSWER", "triage", "--answer", "sound")]
    [InlineData("there is no such file", "triage", "nowhere.json")]
    [InlineData("'stuck' is none of: stuck heads", "protocol", "--failure", "stuck", "--drive", "x")]
    [InlineData("there is no such file", "protocol", "--failure", "stuck heads", "--drive", "nowhere.json")]
    [InlineData("the shelf is empty", "donor", "list")]
    [InlineData("no serial number was given", "tag")]
    [InlineData("stands here twice", "tag", "WQX4417KQ", "wqx4417kq")]
    [InlineData("U+00C4 at character 2", "tag", "W\u00C4X4417KQ")]
    [InlineData("has no unit", "air", "flow", "--width", "1.2", "--height", "0.6 m", "--velocity", "0.45 m/s")]
    [InlineData("is no unit of a speed", "air", "flow", "--width", "1.2 m", "--height", "0.6 m", "--velocity", "0.45 L")]
    [InlineData("no limit there", "air", "plan", "--area", "1 m2", "--claim", "5", "--size", "5 um")]
    [InlineData("is no ISO class", "air", "plan", "--area", "1 m2", "--claim", "0", "--size", "5 um")]
    [InlineData("is impossible", "air", "settle", "--class", "5", "--open", "30 min", "--outer", "-95 mm")]
    [InlineData("no unit of time", "air", "settle", "--class", "5", "--open", "30")]
    [InlineData("what is in the air", "air", "settle", "--open", "30 min")]
    [InlineData("there is no such file", "dump", "compare", "a", "b")]
    [InlineData("what is the quote for", "quote")]
    public void A_wrong_word_ends_with_1_and_says_what_to_do(string says, params string[] arguments)
    {
        Assert.Contains(says, _lab.Bad(arguments));
    }

    [Fact]
    public void A_value_in_another_currency_is_refused()
    {
        _lab.Good("donor", "add", LabCommand.Demo("shelf.json"));
        Assert.Contains("--value: 1200.00 CHF is in another currency; this shelf is kept in EUR",
            _lab.Bad("donor", "rank", LabCommand.Demo("patient.json"), "--value", "1200.00 CHF", "--labour", "250 EUR"));
    }

    [Fact]
    public void The_same_donors_twice_are_refused_and_the_shelf_stays()
    {
        _lab.Good("donor", "add", LabCommand.Demo("shelf.json"));
        string before = File.ReadAllText(Path.Combine(_lab["lab"], "stock.json"));
        Assert.Contains("is on the shelf twice", _lab.Bad("donor", "add", LabCommand.Demo("shelf.json")));
        Assert.Equal(before, File.ReadAllText(Path.Combine(_lab["lab"], "stock.json")));
    }

    [Fact]
    public void An_edited_table_with_an_unknown_failure_is_named_with_its_line()
    {
        Directory.CreateDirectory(_lab["tables"]);
        string text = Turnstone.Lab.Documents.TableShelf.Shipped["costs.json"];
        File.WriteAllText(Path.Combine(_lab["tables"], "costs.json"), text.Replace("\"failure\": \"fire\"", "\"failure\": \"smoke\""));
        Assert.Matches(@"costs.json, line \d+, failures\[10\].failure: 'smoke' is none of: stuck heads", _lab.Bad("quote", "--answer", "sound=clicks", "--tables", _lab["tables"]));
    }

    [Fact]
    public void An_edited_table_takes_the_place_of_the_shipped_one()
    {
        Directory.CreateDirectory(Path.Combine(_lab["lab"], "tables"));
        string text = Turnstone.Lab.Documents.TableShelf.Shipped["triage.json"];
        File.WriteAllText(Path.Combine(_lab["lab"], "tables", "triage.json"), text.Replace("Common practice, no published source.", "Our own three hundred cases."));
        Assert.Contains("Our own three hundred cases.", _lab.Good("triage", "--answer", "sound=clicks"));
    }

    [Fact]
    public void A_name_that_would_steer_the_terminal_is_written_out()
    {
        string shelf = File.ReadAllText(LabCommand.Demo("offer.json")).Replace("\"used, 400 h\"", "\"x\"").Replace("\"MRL-4T25\"", "\"\\u001b[2Jhidden\\u202e\"");
        File.WriteAllText(_lab["shelf.json"], shelf);
        _lab.Good("donor", "add", _lab["shelf.json"]);
        string shown = _lab.Good("donor", "list");
        Assert.DoesNotContain("\u001b", shown);
        Assert.DoesNotContain("\u202e", shown);
        Assert.Contains("\\u001B", shown);
    }

    public void Dispose() => _lab.Dispose();
}
