using System.CommandLine;
using Spectre.Console;
using Turnstone.Cli.Display;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Media.Target;
using Turnstone.Patients;
using Turnstone.Reading;
using Turnstone.Reading.Stages;
using Turnstone.Reading.Storage;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone read</summary>
internal static class ReadVerb
{
    public static Command Make()
    {
        var source = new Argument<string>("SOURCE") { Description = "a drive (/dev/sdX), an image file, nbd://host:port/name, nbd+unix:///name?socket=PATH, or a described drive patient:FILE.json" };
        var into = new Option<string>("--into") { Description = "folder for image.raw and read.db; an earlier read in it goes on", Required = true, HelpName = "DIR" };
        var only = new Option<string?>("--only") { Description = "run one stage: survey, sweep, edges, glean or appeal", HelpName = "STAGE" };
        var budget = new Option<string?>("--budget") { Description = "stop after this time: 90s, 45min, 12h, 2d", HelpName = "TIME" };
        var sector = new Option<int>("--sector") { Description = "sector size that an image file stands for", DefaultValueFactory = _ => 512, HelpName = "BYTES" };
        var shortTarget = new Option<bool>("--short-target") { Description = "start although the image may not fit: for a patient known to be mostly empty" };
        var json = new Option<bool>("--json") { Description = "one JSON event a line" };
        var verb = new Command("read", """
            Read a patient into a folder: the skeleton first, then large blocks, then closer and closer around trouble.
            The patient is opened read-only. Stop it with Ctrl-C at any time; the same command goes on where it stopped.

            Example: turnstone read /dev/sdb --into /cases/0042/read --budget 12h
            """) { source, into, only, budget, sector, shortTarget, json };
        verb.SetAction(parsed => Run(
            parsed.GetValue(source)!,
            parsed.GetValue(into)!,
            new ReadOptions { Only = Stage(parsed.GetValue(only)), Budget = Duration.Parse(parsed.GetValue(budget)) },
            SectorArgument.Of(parsed.GetValue(sector)),
            needsSpace: !parsed.GetValue(shortTarget),
            parsed.GetValue(json)));
        return verb;
    }

    private static int Run(string address, string folder, ReadOptions options, SectorSize fileSector, bool needsSpace, bool json)
    {
        IReadOnlyList<string> conflicts = TargetCheck.Conflicts(address, folder, ReadFolder.ImagePath(folder));
        if (conflicts.Count > 0)
            throw new BadInputException(string.Join("; ", conflicts));
        using IBlockSource source = Open(address, fileSector);
        return Sit(source, folder, options, needsSpace, json);
    }

    private static IBlockSource Open(string address, SectorSize fileSector)
    {
        const string described = "patient:";
        if (!address.StartsWith(described, StringComparison.Ordinal))
            return Sources.Open(address, fileSector);
        string path = address[described.Length..];
        return PatientFile.Open(path).Match<IBlockSource>(patient => patient, refused => throw new BadInputException($"{path}: {refused.Message}"));
    }

    /// <summary>One sitting with an open source, told on the terminal or as JSON.</summary>
    public static int Sit(IBlockSource source, string folder, ReadOptions options, bool needsSpace, bool json)
    {
        using ReadFolder read = ReadFolder.Begin(folder, new ReadRecord(source.Identity, source.Geometry), needsSpace);
        Action<ReadEvent> tell = json ? new JsonEvents(Console.Out).Tell : new ReadDisplay(AnsiConsole.Console, read.Map).Tell;
        using var stop = new StopSignal();
        return new PatientRead(source, read, new SkeletonGuide(), tell).Run(options, stop.Token) == ReadEnd.Finished ? ExitCode.Done : ExitCode.StoppedEarly;
    }

    private static StageName? Stage(string? word) => word is null
        ? null
        : Enum.GetValues<StageName>().Cast<StageName?>().FirstOrDefault(stage => Words.Of(stage!.Value) == word)
            ?? throw new BadInputException($"'{word}' is no stage: write survey, sweep, edges, glean or appeal");
}
