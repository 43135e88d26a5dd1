using System.CommandLine;
using System.CommandLine.Parsing;
using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Cli.Rehearse;

/// <summary>'turnstone rehearse': what a way of reading would bring from a described drive, hour by hour, before the real one is risked.</summary>
internal static class RehearseCommand
{
    public static Command Make()
    {
        var file = new Argument<FileInfo>("SCENARIO.json") { Description = "the described drive (docs/formats/scenario.md)" };
        var strategy = new Option<string>("--strategy") { Description = $"how to read: {string.Join("; ", Strategies.References.Select(s => $"{s.Name} ({s.Description})"))}", DefaultValueFactory = _ => "sweep" };
        strategy.AcceptOnlyFromAmong([.. Strategies.References.Select(s => s.Name)]);
        var budget = new Option<TimeSpan>("--budget")
        {
            Description = "virtual time that the read may take, such as 90m, 12h or 3d",
            CustomParser = Budget,
            HelpName = "TIME",
            DefaultValueFactory = _ => TimeSpan.FromHours(12),
        };
        var picture = new Option<FileInfo?>("--picture") { Description = "writes the curves to this file, as SVG" };
        var json = new Option<bool>("--json") { Description = "prints JSON for programs instead of the table" };
        var command = new Command("rehearse", "Reads a described drive in virtual time and shows what would be held after each hour.") { file, strategy, budget, picture, json };
        command.SetAction(parsed =>
        {
            Scenario scenario = ScenarioFile.Open(parsed.GetValue(file)!.FullName).Match(s => s, refused => throw new BadInputException($"{parsed.GetValue(file)}: {refused.Message}"));
            string text = Run(scenario, parsed.GetValue(strategy)!, parsed.GetValue(budget), parsed.GetValue(picture), parsed.GetValue(json));
            parsed.InvocationConfiguration.Output.Write(text);
            return ExitCode.Done;
        });
        return command;
    }

    private static TimeSpan Budget(ArgumentResult result)
    {
        string text = result.Tokens[0].Value;
        if (Duration.Read(text) is { } time)
            return time;
        result.AddError($"--budget '{text}' is no length of time: a number above 0 with s, m, h or d behind it, such as 12h");
        return TimeSpan.Zero;
    }

    private static string Run(Scenario scenario, string name, TimeSpan budget, FileInfo? picture, bool json)
    {
        RehearsalResult result = Rehearsal.Run(scenario, Strategies.References.First(s => s.Name == name), budget);
        ClairvoyantBound bound = Rehearsal.Bound(scenario);
        if (picture is not null)
            File.WriteAllText(picture.FullName, RehearsalPicture.Of($"{scenario.Name}: {name}", result, bound, budget));
        return json ? RehearsalText.Json(scenario, result, bound, budget) : RehearsalText.Table(scenario, result, bound, budget);
    }
}
