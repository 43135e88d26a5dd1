namespace Turnstone.Cli;

/// <summary>What the program says to whoever called it. Documented in the help and in docs/handbook/exit-codes.md.</summary>
internal static class ExitCode
{
    public const int Done = 0, BadInput = 1, SomethingWrong = 2, StoppedEarly = 3, TargetFailed = 4;
}
