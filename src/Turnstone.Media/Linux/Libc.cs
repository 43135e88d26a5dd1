using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Media.Linux;

/// <summary>The few calls of the C library that .NET has no word for.</summary>
/// <remarks>Numbers: Linux headers fcntl.h, linux/fs.h, linux/stat.h (generic 64-bit values, the same on x86-64 and arm64 but O_DIRECT).</remarks>
internal static partial class Libc
{
    public const int ReadOnly = 0, ReadWrite = 2;
    public const int CloseOnExec = 0x80000;
    public const uint BlkRoSet = 0x125D, BlkRoGet = 0x125E, BlkSszGet = 0x1268, BlkPbszGet = 0x127B, BlkGetSize64 = 0x80081272;
    public const int ErrorIo = 5, ErrorNoDevice = 6, ErrorAccess = 13, ErrorGone = 19, ErrorInvalid = 22, ErrorNoData = 61,
        ErrorTimedOut = 110, ErrorRemoteIo = 121, ErrorNoMedium = 123, ErrorIllegalSequence = 84, ErrorInterrupted = 4, ErrorStale = 116, ErrorNotConnected = 107;

    /// <summary>Reads without the page cache. The number differs by processor.</summary>
    public static int Direct => RuntimeInformation.ProcessArchitecture is Architecture.Arm64 or Architecture.Arm ? 0x10000 : 0x4000;

    [LibraryImport("libc", EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "pread", SetLastError = true)]
    public static unsafe partial nint PRead(SafeFileHandle file, byte* into, nuint count, long offset);

    [LibraryImport("libc", EntryPoint = "pwrite", SetLastError = true)]
    public static unsafe partial nint PWrite(SafeFileHandle file, byte* from, nuint count, long offset);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(SafeFileHandle file, nuint request, ref ulong value);

    [LibraryImport("libc", EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(SafeFileHandle file, nuint request, ref int value);

    [LibraryImport("libc", EntryPoint = "statx", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static unsafe partial int StatX(int folder, string path, int flags, uint mask, byte* into);

    /// <summary>What an error number means, in the system's words.</summary>
    public static string Say(int error) => Marshal.GetPInvokeErrorMessage(error);
}
