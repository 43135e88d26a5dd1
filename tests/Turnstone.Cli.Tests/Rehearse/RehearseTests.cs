using System.CommandLine;
using System.Text.Json;
using Turnstone.Bench;
using Turnstone.Cli.Rehearse;

namespace Turnstone.Cli.Tests.Rehearse;

public sealed class RehearseTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public RehearseTests() => File.WriteAllText(_folder["patient.json"], """
        {
          "name": "one weak head\u001b[31m", "seed": 5, "preset": "small-40gb",
          "damage": [ { "kind": "weakHead", "head": 2, "margin": 3.4, "hazard": "sick", "diesAfterSeconds": 40 } ]
        }
        """);

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void The_table_of_a_rehearsal_looks_like_its_picture() =>
        Picture.IsSame("rehearse", Run("--strategy", "skip", "--budget", "3.5h").Output);

    [Fact]
    public void The_same_figures_come_as_json()
    {
        using var json = JsonDocument.Parse(Run("--strategy", "skip", "--budget", "2h", "--json").Output);
        JsonElement hours = json.RootElement.GetProperty("hours");
        Assert.Equal([1, 2], hours.EnumerateArray().Select(h => h.GetProperty("hour").GetInt32()));
        Assert.All(hours.EnumerateArray(), h => Assert.True(h.GetProperty("held").GetProperty("bytes").GetDouble() <= h.GetProperty("bound").GetProperty("bytes").GetDouble()));
    }

    [Fact]
    public void The_picture_is_written_where_it_was_asked_for()
    {
        Run("--budget", "10m", "--picture", _folder["curves.svg"]);
        Assert.StartsWith("<svg", File.ReadAllText(_folder["curves.svg"]), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("0h")]
    [InlineData("12")]
    [InlineData("-3h")]
    [InlineData("soon")]
    public void A_time_that_is_none_is_refused(string budget)
    {
        (int code, _, string errors) = Run("--budget=" + budget);
        Assert.Equal(1, code);
        Assert.Contains($"'{budget}' is no length of time", errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_scenario_at_fault_is_refused_with_the_place()
    {
        File.WriteAllText(_folder["patient.json"], """{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"deadHead","head":9}]}""");
        var refused = Assert.Throws<BadInputException>(() => Run());
        Assert.EndsWith("patient.json: $.damage[0].head: 9, but this drive has heads 0 to 3", refused.Message, StringComparison.Ordinal);
    }

    private (int Code, string Output, string Errors) Run(params string[] arguments)
    {
        var root = new RootCommand("test") { RehearseCommand.Make() };
        using StringWriter output = new(), errors = new();
        int code = root.Parse(["rehearse", _folder["patient.json"], .. arguments]).Invoke(new InvocationConfiguration { Output = output, Error = errors, EnableDefaultExceptionHandler = false });
        return (code, output.ToString(), errors.ToString());
    }
}
