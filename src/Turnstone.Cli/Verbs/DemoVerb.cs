using System.CommandLine;
using Spectre.Console;
using Turnstone.Cli.Display;
using Turnstone.Handover;
using Turnstone.Media;
using Turnstone.Patients.Demo;
using Turnstone.Reading;
using Turnstone.Volumes;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone demo</summary>
internal static class DemoVerb
{
    public static Command Make()
    {
        var folder = new Option<string?>("--dir") { Description = "where to work; a new folder in the temp folder if not given", HelpName = "DIR" };
        var verb = new Command("demo", """
            Go through one rescue on an invented patient: a dropped portable drive with field recordings, bad sectors and files
            torn apart. Reads it, lists the files, makes the bag, checks it.

            Example: turnstone demo
            """) { folder };
        verb.SetAction(parsed => Run(parsed.GetValue(folder) ?? Directory.CreateTempSubdirectory("turnstone-demo-").FullName));
        return verb;
    }

    private static int Run(string folder)
    {
        if (Directory.Exists(folder) && Directory.EnumerateFileSystemEntries(folder).Any())
            throw new BadInputException($"{folder} is not empty: name a new folder for the demo");
        Directory.CreateDirectory(folder);
        string drive = Path.Combine(folder, "patient.raw"), read = Path.Combine(folder, "read"), bag = Path.Combine(folder, "bag");

        Head("1  The patient", "a portable drive with field recordings, dropped; invented, and the same each time");
        DemoPatient.Write(drive);
        Head("2  The read", "skeleton first, then large blocks, then closer and closer around trouble");
        int code;
        using (IBlockSource source = DemoPatient.Open(drive))
            code = ReadVerb.Sit(source, read, new ReadOptions(), needsSpace: true, json: false);
        if (code != ExitCode.Done)
            return code;
        using Patient held = Patient.Open(read, 512);
        Head("3  The files", "graded by what is held of each");
        string files = FilesTable.Write(AnsiConsole.Console, Disk.Read(held.View), held.View, digests: false);
        Head("4  The hand-over", "a bag that the client can check with sha256sum");
        HandoverVerb.Make(held, Disk.Read(held.View), new HandoverOrder(bag));
        Head("5  The check", "as the client would do it");
        code = CheckVerb.Run(bag);
        Summary(files, read, bag);
        return code;
    }

    private static void Head(string title, string what)
    {
        AnsiConsole.WriteLine();
        AnsiConsole.MarkupLineInterpolated($"[bold]{title}[/]   {what}");
    }

    private static void Summary(string files, string read, string bag)
    {
        Head("At a glance", "");
        AnsiConsole.WriteLine($"safe      {files}");
        AnsiConsole.WriteLine("at risk   the sectors that the drive refused three times; each file they touch is in data/holed with a note of its holes");
        AnsiConsole.WriteLine("next      ask the client whether a holed recording matters enough for another appeal, else deliver the bag");
        AnsiConsole.WriteLine($"look      turnstone map {read}");
        AnsiConsole.WriteLine($"          turnstone files {read} --json");
        AnsiConsole.WriteLine($"          cd {bag} && sha256sum -c manifest-sha256.txt");
    }
}
