using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;
using Turnstone.Media.Linux;

namespace Turnstone.Media.Target;

/// <summary>Writes large aligned pieces past the page cache: less than a fifth of the processor time, and no dirty pages that pile up before a flush.</summary>
internal sealed class DirectWriter : IDisposable
{
    private const int Alignment = 4096;
    private readonly SafeFileHandle _file;
    private bool _isRefused;

    private DirectWriter(SafeFileHandle file) => _file = file;

    /// <summary>Opens the file a second time; null where its file system knows no direct writes.</summary>
    public static DirectWriter? TryOpen(string path)
    {
        int number = Libc.Open(path, Libc.ReadWrite | Libc.Direct | Libc.CloseOnExec);
        return number < 0 ? null : new DirectWriter(new SafeFileHandle(number, ownsHandle: true));
    }

    /// <summary>Writes the piece, or answers false when it has to go the ordinary way.</summary>
    /// <exception cref="IOException">The file system took it and failed.</exception>
    public unsafe bool TryWrite(long offset, ReadOnlySpan<byte> bytes)
    {
        if (_isRefused || offset % Alignment != 0 || bytes.Length % Alignment != 0 || !SectorBuffer.IsAligned(bytes))
            return false;
        fixed (byte* from = bytes)
        {
            for (int done = 0; done < bytes.Length;)
            {
                nint step = Libc.PWrite(_file, from + done, (nuint)(bytes.Length - done), offset + done);
                int error = step < 0 ? Marshal.GetLastPInvokeError() : 0;
                if (error is Libc.ErrorInvalid)
                {
                    // Some file systems open the file and refuse at the first write: the ordinary way overwrites what was done.
                    _isRefused = true;
                    return false;
                }

                if (step < 0 && error != Libc.ErrorInterrupted)
                    throw new IOException(Libc.Say(error), error);
                done += (int)Math.Max(step, 0);
            }
        }

        return true;
    }

    public void Dispose() => _file.Dispose();
}
