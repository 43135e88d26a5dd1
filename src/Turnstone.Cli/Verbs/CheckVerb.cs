using System.CommandLine;
using Turnstone.Cli.Display;
using Turnstone.Handover;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone check</summary>
internal static class CheckVerb
{
    public static Command Make()
    {
        var bag = new Argument<string>("BAG") { Description = "folder of a bag, ours or not" };
        var verb = new Command("check", """
            Check any bag by the rules of RFC 8493: complete, and every digest right. Nothing in it is changed.

            Example: turnstone check /media/client/bag
            """) { bag };
        verb.SetAction(parsed => Run(parsed.GetValue(bag)!));
        return verb;
    }

    public static int Run(string bag)
    {
        if (!Directory.Exists(bag))
            throw new BadInputException($"there is no folder '{bag}'");
        BagReport report = new BagCheck(bag).Run();
        foreach (BagProblem problem in report.Problems)
            Console.WriteLine($"  {problem}");
        string what = $"{report.Files} files, {Plain.Bytes(report.Bytes)}, digests {string.Join(" and ", report.Algorithms)}";
        Console.WriteLine(report.IsValid ? $"The bag is complete and valid: {what}." : $"The bag is not {(report.IsComplete ? "valid" : "complete")}: {what}.");
        return report.IsValid ? ExitCode.Done : ExitCode.SomethingWrong;
    }
}
