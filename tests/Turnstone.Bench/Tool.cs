using System.Diagnostics;

namespace Turnstone.Bench;

/// <summary>What a program said and how it ended.</summary>
public sealed record ToolResult(int ExitCode, string Output, string Errors);

/// <summary>Runs an outside program.</summary>
public static class Tool
{
    /// <summary>Runs it to its end and expects success.</summary>
    /// <exception cref="InvalidOperationException">It is not installed or ended with an error; the message holds what it said.</exception>
    public static string Run(string program, params ReadOnlySpan<string> arguments)
    {
        ToolResult result = Try(program, arguments);
        return result.ExitCode == 0
            ? result.Output
            : throw new InvalidOperationException($"{program} {string.Join(' ', arguments)} ended with {result.ExitCode}: {result.Errors}{result.Output}");
    }

    /// <summary>Runs it to its end, whatever that is.</summary>
    public static ToolResult Try(string program, params ReadOnlySpan<string> arguments)
    {
        using Process process = Start(program, arguments);
        Task<string> output = process.StandardOutput.ReadToEndAsync(), errors = process.StandardError.ReadToEndAsync();
        process.WaitForExit();
        return new ToolResult(process.ExitCode, output.Result, errors.Result);
    }

    /// <summary>Starts it and leaves it running.</summary>
    public static Process Start(string program, params ReadOnlySpan<string> arguments)
    {
        var start = new ProcessStartInfo(program) { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        foreach (string argument in arguments)
            start.ArgumentList.Add(argument);
        start.Environment["LC_ALL"] = "C.UTF-8";
        return Process.Start(start) ?? throw new InvalidOperationException($"{program} did not start");
    }
}
