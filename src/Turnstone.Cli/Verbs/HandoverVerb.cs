using System.CommandLine;
using Turnstone.Cli.Display;
using Turnstone.Findings;
using Turnstone.Handover;
using Turnstone.Volumes;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone handover</summary>
internal static class HandoverVerb
{
    public static Command Make()
    {
        var patient = new Argument<string>("DIR|IMAGE") { Description = "folder of a read, or a finished image" };
        var to = new Option<string>("--to") { Description = "folder of the bag; must be new or empty", Required = true, HelpName = "BAG" };
        var sector = new Option<int>("--sector") { Description = "sector size of the drive that an image came from", DefaultValueFactory = _ => 512, HelpName = "BYTES" };
        var lab = new Option<string?>("--lab-name") { Description = "who hands over; stands in bag-info.txt", HelpName = "NAME" };
        var caseNumber = new Option<string?>("--case") { Description = "the case's number; stands in bag-info.txt", HelpName = "NUMBER" };
        Option<bool> search = SearchOption.Make();
        var verb = new Command("handover", """
            Copy the client's files into a bag (BagIt, RFC 8493) that anybody can check with sha256sum: whole files and holed
            ones apart, each holed one with a note of what is missing, and a table of all names. Stop it with Ctrl-C; the same command goes on.

            Example: turnstone handover /cases/0042/read --to /media/client/bag
            """) { patient, to, search, sector, lab, caseNumber };
        verb.SetAction(parsed =>
        {
            using Patient held = Patient.Open(parsed.GetValue(patient)!, parsed.GetValue(sector));
            return Make(held, held.ReadDisk(parsed.GetValue(search)), new HandoverOrder(parsed.GetValue(to)!) { Organization = parsed.GetValue(lab), Identifier = parsed.GetValue(caseNumber) });
        });
        return verb;
    }

    public static int Make(Patient held, Disk disk, HandoverOrder order)
    {
        IEnumerable<FileFinding> findings = new Grader(held.View).Findings(disk);
        using var stop = new StopSignal();
        try
        {
            Tell(new BagMaker(order with { SourceId = held.Id }).Make(findings, progress: null, stop.Token));
            return ExitCode.Done;
        }
        catch (OperationCanceledException)
        {
            Console.WriteLine("Stopped as asked. The bag is not finished; the same command goes on from here.");
            return ExitCode.StoppedEarly;
        }
    }

    private static void Tell(HandoverResult result)
    {
        Console.WriteLine($"The bag {VisibleText.Of(result.Folder)} is made: {result.Files} files, {Plain.Bytes(result.Bytes)}.");
        foreach ((string shelf, long files) in result.Delivered.Where(pair => pair.Value > 0))
            Console.WriteLine($"  data/{shelf}: {files} files");
        if (result.OnlyNamed > 0)
            Console.WriteLine($"  {result.OnlyNamed} more are known by name only; files.tsv lists them.");
        Console.WriteLine($"Seal, to be printed on the delivery note: SHA-512 of tagmanifest-sha512.txt {result.SealSha512}");
    }
}
