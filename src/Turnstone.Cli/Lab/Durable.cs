using System.Runtime.InteropServices;

namespace Turnstone.Cli.Lab;

/// <summary>Files that are on the disk when a call returns, whole or not at all.</summary>
internal static partial class Durable
{
    private const int ReadOnlyDirectory = 0x10000; // O_RDONLY | O_DIRECTORY on Linux x86-64

    /// <summary>Writes beside the file, makes that durable, then takes its place.</summary>
    public static void Replace(string path, ReadOnlySpan<byte> bytes)
    {
        string half = path + ".half";
        using (var file = new FileStream(half, FileMode.Create, FileAccess.Write, FileShare.None))
        {
            file.Write(bytes);
            file.Flush(flushToDisk: true);
        }

        File.Move(half, path, overwrite: true);
        SyncFolder(Path.GetDirectoryName(path)!);
    }

    /// <summary>Makes a rename or a new file in the folder durable.</summary>
    public static void SyncFolder(string folder)
    {
        int handle = Open(folder, ReadOnlyDirectory);
        if (handle < 0)
            throw new IOException($"{folder} can't be opened to make it durable");
        int answer = Sync(handle);
        _ = Close(handle);
        if (answer != 0)
            throw new IOException($"{folder} can't be made durable");
    }

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "fsync")]
    private static partial int Sync(int handle);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int Close(int handle);
}
