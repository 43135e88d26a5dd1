using System.Diagnostics;

namespace Turnstone.Bench;

/// <summary>A real block device of the kernel: a loop device over a file. Needs root.</summary>
public sealed class LoopDevice : IDisposable
{
    private readonly Action _after;

    private LoopDevice(string path, Action after)
    {
        Path = path;
        _after = after;
    }

    public string Path { get; }

    /// <summary>A healthy device over a file.</summary>
    public static LoopDevice Over(string file, int sector = 512, bool writable = false)
    {
        string[] mode = writable ? [] : ["-r"];
        return new LoopDevice(Tool.Run("losetup", ["-f", "--show", .. mode, "--direct-io=on", "-b", sector.ToString(), file]).Trim(), () => { });
    }

    /// <summary>A device whose sectors fail as the server says: nbdkit, mounted as a file by nbdfuse, under a direct loop device.</summary>
    public static LoopDevice Failing(FailingServer server)
    {
        var folder = new TempFolder();
        Process fuse = Tool.Start("nbdfuse", "-r", folder.Path, "--unix", server.Socket);
        string file = folder["nbd"];
        for (int i = 0; i < 200 && !File.Exists(file); i++)
            Thread.Sleep(50);
        string device = Tool.Run("losetup", "-f", "--show", "-r", "--direct-io=on", file).Trim();
        return new LoopDevice(device, () =>
        {
            Tool.Try("fusermount3", "-u", folder.Path);
            fuse.WaitForExit(5000);
            fuse.Dispose();
            folder.Dispose();
        });
    }

    public void Dispose()
    {
        Tool.Try("losetup", "-d", Path);
        _after();
    }
}
