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
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_FILE_NAME.</remarks>
internal sealed record FileName(RecordReference Parent, string Name, NameSpace Space, long Size, uint Flags)
{
    /// <summary>Bytes before the name itself.</summary>
    public const int HeadBytes = 0x42;

    /// <summary>Where the four times stand; stale in the record, kept up in the index.</summary>
    public const int TimesAt = 8;

    private const int SizeAt = 0x30, FlagsAt = 0x38, LengthAt = 0x40, SpaceAt = 0x41;
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
            BinaryPrimitives.ReadUInt32LittleEndian(value[FlagsAt..])));
    }
}
