using System.Diagnostics;

namespace Turnstone.Handover.Tests;

/// <summary>A folder that is gone after the test.</summary>
internal sealed class TempFolder : IDisposable
{
    public string Path { get; } = Directory.CreateTempSubdirectory("turnstone-handover-").FullName;

    public string this[string name] => System.IO.Path.Combine(Path, name);

    public void Dispose() => Directory.Delete(Path, recursive: true);
}

/// <summary>Ordinary tools of the system.</summary>
internal static class Tool
{
    /// <summary>Runs a shell script in a folder; answers its exit code and what it said.</summary>
    public static (int Code, string Said) Bash(string folder, string script)
    {
        var start = new ProcessStartInfo("bash", ["-euo", "pipefail", "-c", script + " 2>&1"]) { WorkingDirectory = folder, RedirectStandardOutput = true, UseShellExecute = false };
        start.Environment["LC_ALL"] = "C.UTF-8";
        using Process process = Process.Start(start)!;
        string said = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, said);
    }
}
