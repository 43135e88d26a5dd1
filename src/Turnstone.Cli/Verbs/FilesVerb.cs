using System.CommandLine;
using Spectre.Console;
using Turnstone.Cli.Display;
using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone files</summary>
internal static class FilesVerb
{
    public static Command Make()
    {
        var patient = new Argument<string>("DIR|IMAGE") { Description = "folder of a read, or a finished image" };
        var json = new Option<bool>("--json") { Description = "one JSON object a line for every entry" };
        var digests = new Option<bool>("--digests") { Description = "add the SHA-256 of each file whose bytes are all held" };
        var sector = new Option<int>("--sector") { Description = "sector size of the drive that an image came from", DefaultValueFactory = _ => 512, HelpName = "BYTES" };
        Option<bool> search = SearchOption.Make();
        var verb = new Command("files", """
            List the client's files with what became of each: whole, holed, doubtful, or only named.

            Example: turnstone files /cases/0042/read
                     turnstone files /cases/0042/read --json --digests > files.jsonl
            """) { patient, json, digests, search, sector };
        verb.SetAction(parsed =>
        {
            using Patient held = Patient.Open(parsed.GetValue(patient)!, parsed.GetValue(sector));
            Disk disk = held.ReadDisk(parsed.GetValue(search));
            if (parsed.GetValue(json))
                WriteJson(new Grader(held.View).Findings(disk), parsed.GetValue(digests));
            else
                FilesTable.Write(AnsiConsole.Console, disk, held.View, parsed.GetValue(digests));
            return ExitCode.Done;
        });
        return verb;
    }

    private static void WriteJson(IEnumerable<FileFinding> findings, bool digests)
    {
        using var output = new BufferedStream(Console.OpenStandardOutput(), 1 << 16);
        using var json = new FindingJson(output);
        foreach (FileFinding finding in findings)
            json.Write(finding, digests ? ContentDigest.Sha256(finding) : null);
    }
}
