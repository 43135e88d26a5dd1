using System.Diagnostics;

namespace Turnstone.Bench;

/// <summary>An outside network block device that serves a file and fails as told: nbdkit with the plugin in failing/failing.c.</summary>
/// <remarks>Fault lines: 'bad FIRST COUNT', 'slow FIRST COUNT MS', 'flaky FIRST COUNT REFUSALS', 'every MS', in sectors of 512 bytes.</remarks>
public sealed class FailingServer : IDisposable
{
    private readonly Process _process;
    private readonly TempFolder _folder = new();

    private FailingServer(string file, IEnumerable<string> faults, bool keepsLog, bool structured, int? port)
    {
        File.WriteAllLines(_folder["faults"], faults);
        string plugin = Path.Combine(Repository.Root, "tests", "Turnstone.Bench", "failing", "failing.c");
        string[] where = port is { } p ? ["-i", "127.0.0.1", "-p", p.ToString()] : ["-U", _folder["socket"]];
        string[] log = keepsLog ? [$"log={_folder["log"]}"] : [];
        _process = Tool.Start("nbdkit", ["-f", "-r", "-P", _folder["pid"], .. where, .. structured ? Array.Empty<string>() : ["--no-sr"], "cc", plugin, $"file={file}", $"faults={_folder["faults"]}", .. log]);
        Address = port is null ? $"nbd+unix:///?socket={_folder["socket"]}" : $"nbd://127.0.0.1:{port}/";
        AwaitStart();
    }

    /// <summary>How Turnstone is told where it is.</summary>
    public string Address { get; }

    /// <summary>Path of the unix socket.</summary>
    public string Socket => _folder["socket"];

    /// <summary>Every read that brought bytes, in order: first sector and count. Only with a log.</summary>
    public IEnumerable<(long First, long Count)> Served =>
        !File.Exists(_folder["log"]) ? [] : File.ReadLines(_folder["log"]).Select(line => line.Split(' ')).Select(p => (long.Parse(p[0]), long.Parse(p[1])));

    /// <summary>Serves on a unix socket.</summary>
    public static FailingServer OnSocket(string file, IEnumerable<string> faults, bool keepsLog = false, bool structured = true) =>
        new(file, faults, keepsLog, structured, port: null);

    /// <summary>Serves on a TCP port of this machine.</summary>
    public static FailingServer OnPort(string file, IEnumerable<string> faults, int port) => new(file, faults, keepsLog: false, structured: true, port);

    /// <summary>Ends it at once, as when somebody pulls the plug.</summary>
    public void Kill()
    {
        _process.Kill();
        _process.WaitForExit();
    }

    public void Dispose()
    {
        if (!_process.HasExited)
            Kill();
        _process.Dispose();
        _folder.Dispose();
    }

    // nbdkit writes its pid file when it listens.
    private void AwaitStart()
    {
        for (int i = 0; i < 600 && !File.Exists(_folder["pid"]); i++)
        {
            if (_process.HasExited)
                throw new InvalidOperationException("nbdkit did not start: " + _process.StandardError.ReadToEnd());
            Thread.Sleep(50);
        }

        _process.OutputDataReceived += (_, _) => { };
        _process.ErrorDataReceived += (_, _) => { };
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }
}
