using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Which set of names a name belongs to.</summary>
internal enum NameSpace
{
    Posix,
    Win32,
    Dos,
    Win32AndDos,
}

/// <summary>A file's name in one folder, as its record and the folder's index both keep it.</summary>
/// <param name="Parent">The folder.</param>
/// <param name="Name">The name, with whatever characters stand there.</param>
/// <param name="Space">Which set it belongs to.</param>
/// <param name="Size">Bytes of the unnamed stream; often stale in the record, fresher in the index.</param>
/// <param name="Flags">File attributes of DOS, and a bit for a folder.</param>
/// <param name="Times">Times; often stale in the record.</param>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_FILE_NAME.</remarks>
internal sealed record FileName(RecordReference Parent, string Name, NameSpace Space, long Size, uint Flags, EntryTimes Times)
{
    /// <summary>Bytes before the name itself.</summary>
    public const int HeadBytes = 0x42;

    private const int TimesAt = 8, SizeAt = 0x30, FlagsAt = 0x38, LengthAt = 0x40, SpaceAt = 0x41;
    private const uint FolderFlag = 0x1000_0000;

    /// <summary>Whether it names a folder.</summary>
    public bool IsFolder => (Flags & FolderFlag) != 0;

    /// <summary>Reads the structure; damaged where it cannot be a name.</summary>
    public static Parsed<FileName> Read(ReadOnlySpan<byte> value)
    {
        if (value.Length < HeadBytes)
            return new Parsed<FileName>.Damaged(value.Length, "name cut short");
        int length = 2 * value[LengthAt];
        if (length == 0 || length > value.Length - HeadBytes)
            return new Parsed<FileName>.Damaged(LengthAt, $"name of {length / 2} characters");
        if (value[SpaceAt] > (byte)NameSpace.Win32AndDos)
            return new Parsed<FileName>.Damaged(SpaceAt, $"name space {value[SpaceAt]}");
        long size = BinaryPrimitives.ReadInt64LittleEndian(value[SizeAt..]);
        if (size < 0)
            return new Parsed<FileName>.Damaged(SizeAt, $"size {size}");
        return new Parsed<FileName>.Value(new FileName(
            RecordReference.Read(value),
            Utf16.Of(value.Slice(HeadBytes, length)),
            (NameSpace)value[SpaceAt],
            size,
            BinaryPrimitives.ReadUInt32LittleEndian(value[FlagsAt..]),
            FileTimes.Read(value[TimesAt..])));
    }
}

/// <summary>The four times that NTFS keeps, in the order in which they stand on the disk.</summary>
internal static class FileTimes
{
    /// <summary>Bytes of the four.</summary>
    public const int Bytes = 32;

    // DateTimeOffset ends with the year 9999; a file of today does not lie there, and ticks past it would throw.
    private static readonly long TicksMax = DateTimeOffset.MaxValue.UtcTicks - DateTime.FromFileTimeUtc(0).Ticks;

    public static EntryTimes Read(ReadOnlySpan<byte> bytes) =>
        new(Modified: At(bytes[8..]), Created: At(bytes), Accessed: At(bytes[24..]), Changed: At(bytes[16..]));

    // 0 is how a field that was never set looks.
    private static DateTimeOffset? At(ReadOnlySpan<byte> bytes)
    {
        long ticks = BinaryPrimitives.ReadInt64LittleEndian(bytes);
        return ticks <= 0 || ticks > TicksMax ? null : new DateTimeOffset(ticks + DateTime.FromFileTimeUtc(0).Ticks, TimeSpan.Zero);
    }
}

/// <summary>Times and flags of a file.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_STD_INFO.</remarks>
internal sealed record StandardInformation(EntryTimes Times, uint Flags)
{
    private const int FlagsAt = 0x20;

    /// <summary>Flag of a file with a reparse point.</summary>
    public const uint Reparse = 0x400;

    /// <summary>Reads the structure; damaged when it is too short.</summary>
    public static Parsed<StandardInformation> Read(ReadOnlySpan<byte> value) => value.Length < FlagsAt + 4
        ? new Parsed<StandardInformation>.Damaged(value.Length, "standard information cut short")
        : new Parsed<StandardInformation>.Value(new StandardInformation(FileTimes.Read(value), BinaryPrimitives.ReadUInt32LittleEndian(value[FlagsAt..])));

    /// <summary>The flags in the model's words.</summary>
    public static EntryAttributes Attributes(uint flags) =>
        When(flags, 0x1, EntryAttributes.ReadOnly) | When(flags, 0x2, EntryAttributes.Hidden) | When(flags, 0x4, EntryAttributes.System)
        | When(flags, 0x20, EntryAttributes.Archive) | When(flags, 0x800, EntryAttributes.Compressed) | When(flags, 0x4000, EntryAttributes.Encrypted);

    private static EntryAttributes When(uint flags, uint bit, EntryAttributes attribute) => (flags & bit) == 0 ? EntryAttributes.None : attribute;
}
