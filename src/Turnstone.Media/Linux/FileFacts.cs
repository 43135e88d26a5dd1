using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace Turnstone.Media.Linux;

/// <summary>What kind of thing a path names.</summary>
public enum FileKind
{
    /// <summary>A regular file.</summary>
    Regular,

    /// <summary>A block device.</summary>
    BlockDevice,

    /// <summary>A folder.</summary>
    Folder,

    /// <summary>Anything else: a pipe, a socket, a character device.</summary>
    Other,
}

/// <summary>Number by which the kernel knows a device.</summary>
public readonly record struct DeviceNumber(uint Major, uint Minor)
{
    /// <inheritdoc/>
    public override string ToString() => $"{Major}:{Minor}";
}

/// <summary>What the file system says of a path: kind and identity.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Inode">Its number in its file system.</param>
/// <param name="On">The device that its file system lies on.</param>
/// <param name="Device">For a block device, the device it names.</param>
/// <param name="AllocatedBytes">Bytes that it takes on the disk; less than its length when it has holes.</param>
/// <param name="Length">Its length in bytes.</param>
public sealed record FileFacts(FileKind Kind, ulong Inode, DeviceNumber On, DeviceNumber Device, long AllocatedBytes, long Length)
{
    private const int CurrentFolder = -100;
    private const uint BasicStats = 0x7FF;

    /// <summary>Whether both are one and the same file.</summary>
    public bool IsSameAs(FileFacts other) => Inode == other.Inode && On == other.On;

    /// <summary>Asks the file system; null when there is nothing at the path.</summary>
    /// <exception cref="UnauthorizedAccessException">A folder on the way may not be searched.</exception>
    /// <exception cref="IOException">Any other failure.</exception>
    /// <remarks>Field offsets of struct statx: Linux include/uapi/linux/stat.h (from memory; the test compares with coreutils stat).</remarks>
    public static unsafe FileFacts? Of(string path)
    {
        Span<byte> stat = stackalloc byte[256];
        fixed (byte* into = stat)
        {
            if (Libc.StatX(CurrentFolder, path, 0, BasicStats, into) != 0)
                return NothingOrThrow(path, Marshal.GetLastPInvokeError());
        }

        uint U32(Span<byte> s, int at) => BinaryPrimitives.ReadUInt32LittleEndian(s[at..]);
        ulong U64(Span<byte> s, int at) => BinaryPrimitives.ReadUInt64LittleEndian(s[at..]);
        return new FileFacts(
            KindOf(BinaryPrimitives.ReadUInt16LittleEndian(stat[28..])),
            U64(stat, 32),
            new DeviceNumber(U32(stat, 136), U32(stat, 140)),
            new DeviceNumber(U32(stat, 128), U32(stat, 132)),
            checked((long)U64(stat, 48) * 512),
            (long)U64(stat, 40));
    }

    private static FileFacts? NothingOrThrow(string path, int error) => error switch
    {
        2 or 20 => null,
        Libc.ErrorAccess => throw new UnauthorizedAccessException($"{path}: {Libc.Say(error)}"),
        _ => throw new IOException($"{path}: {Libc.Say(error)}"),
    };

    private static FileKind KindOf(ushort mode) => (mode & 0xF000) switch
    {
        0x8000 => FileKind.Regular,
        0x6000 => FileKind.BlockDevice,
        0x4000 => FileKind.Folder,
        _ => FileKind.Other,
    };
}
