using System.CommandLine;
using Turnstone.Findings;
using Turnstone.Handover;
using Turnstone.Media.Target;
using Turnstone.Reading.Storage;

namespace Turnstone.Cli;

/// <summary>Runs a verb and turns what it could not do into one sentence and an exit code.</summary>
internal static class Running
{
    public static int Invoke(RootCommand root, string[] args)
    {
        ParseResult parsed = root.Parse(args);
        var quiet = new InvocationConfiguration { EnableDefaultExceptionHandler = false, ProcessTerminationTimeout = null };
        return Guarded(() => parsed.Invoke(quiet));
    }

    public static int Guarded(Func<int> verb)
    {
        try
        {
            return verb();
        }
        catch (TargetFailure e)
        {
            return Fail(ExitCode.TargetFailed, e.Message);
        }
        catch (Exception e) when (e is ReadFolderException or IOException or UnauthorizedAccessException or FormatException or HandoverException or BadInputException)
        {
            string advice = e is UnauthorizedAccessException ? ": run as a user who may read it (a drive usually needs root)" : "";
            return Fail(ExitCode.BadInput, e.Message + advice);
        }
    }

    public static int Fail(int code, string message)
    {
        Console.Error.WriteLine($"turnstone: {VisibleText.Of(message)}");
        return code;
    }
}

/// <summary>What was given makes no sense: the message says what, where, and what to do.</summary>
internal sealed class BadInputException(string message) : Exception(message);
