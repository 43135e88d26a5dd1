using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Handover;

/// <summary>Makes everything that was written to a file system lie on its medium.</summary>
internal static partial class DurableTarget
{
    /// <summary>Waits until all that was written to the file system of the folder is on its medium.</summary>
    /// <exception cref="IOException">The medium did not take something that was written before.</exception>
    /// <remarks>syncfs(2) reports write-back errors since Linux 5.8 (from memory).</remarks>
    public static void Sync(string folder)
    {
        using SafeFileHandle handle = new(Open(folder, DirectoryReadOnly), ownsHandle: true);
        if (handle.IsInvalid || SyncFs(handle) != 0)
        {
            int error = Marshal.GetLastPInvokeError();
            throw new IOException($"what was written to '{folder}' could not be made durable: {Marshal.GetPInvokeErrorMessage(error)}", error);
        }
    }

    // O_RDONLY | O_DIRECTORY | O_CLOEXEC
    private const int DirectoryReadOnly = 0x10000 | 0x80000;

    [LibraryImport("libc", EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "syncfs", SetLastError = true)]
    private static partial int SyncFs(SafeFileHandle folder);
}
