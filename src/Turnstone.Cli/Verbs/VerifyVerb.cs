using System.CommandLine;
using Turnstone.Cli.Display;
using Turnstone.Reading;
using Turnstone.Reading.Storage;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone verify</summary>
internal static class VerifyVerb
{
    public static Command Make()
    {
        var folder = new Argument<string>("DIR") { Description = "folder of a read" };
        var verb = new Command("verify", """
            Compare the image with the digests that were taken when its bytes came from the patient.

            Example: turnstone verify /cases/0042/read
            """) { folder };
        verb.SetAction(parsed => Run(parsed.GetValue(folder)!));
        return verb;
    }

    private static int Run(string folder)
    {
        using ReadFolder read = ReadFolder.Look(folder);
        var check = new ImageCheck(read);
        long faults = 0;
        foreach (ImageFault fault in check.Faults())
        {
            faults++;
            Console.WriteLine($"bytes {fault.Place.Offset} to {fault.Place.End - 1}: {fault.What}");
        }

        string held = Plain.Bytes(MapTotals.Of(read.Map, read.Record.Geometry.Logical).Held);
        Console.WriteLine(faults == 0
            ? $"The image is as it was read: {check.Compared} digests fit, {held} held."
            : $"{faults} of {check.Compared} places do not fit. Read those again into a fresh folder, or bring back a copy of the image.");
        return faults == 0 ? ExitCode.Done : ExitCode.SomethingWrong;
    }
}
