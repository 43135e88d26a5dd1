using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>One name in a folder.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, j_drec_key_t, j_drec_hashed_key_t, j_drec_val_t (from memory).</remarks>
internal sealed record DirectoryEntry(string Name, ulong FileId, EntryKind Kind, ulong? SiblingId, Trust Trust)
{
    private const int FixedLength = 18;
    private const int Flags = 16;
    private const uint LengthMask = 0x3FF;
    private const byte SiblingField = 1;

    public static Parsed<DirectoryEntry> Read(FileRecord record, bool hashed)
    {
        ReadOnlySpan<byte> key = record.KeyBytes.Span, value = record.Value.Span;
        int prefix = hashed ? 12 : 10;
        if (key.Length < prefix || value.Length < FixedLength)
            return new Parsed<DirectoryEntry>.Damaged(At: 0, "directory record cut short");
        int length = hashed ? (int)(BinaryPrimitives.ReadUInt32LittleEndian(key[8..]) & LengthMask) : BinaryPrimitives.ReadUInt16LittleEndian(key[8..]);
        if (length > key.Length - prefix)
            return new Parsed<DirectoryEntry>.Damaged(At: 8, $"a name of {length} bytes");
        ReadOnlyMemory<byte> sibling = ExtraFields.Find(record.Value[FixedLength..], SiblingField);
        return new Parsed<DirectoryEntry>.Value(new DirectoryEntry(
            ApfsText.Read(key.Slice(prefix, length)),
            BinaryPrimitives.ReadUInt64LittleEndian(value),
            KindOf(BinaryPrimitives.ReadUInt16LittleEndian(value[Flags..])),
            sibling.Length == 8 ? BinaryPrimitives.ReadUInt64LittleEndian(sibling.Span) : null,
            record.Trust));
    }

    private static EntryKind KindOf(ushort flags) => (flags & 0xF) switch
    {
        4 => EntryKind.Folder,
        8 => EntryKind.File,
        10 => EntryKind.Link,
        _ => EntryKind.Other,
    };
}

/// <summary>One more name of a file with several: where it stands.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, j_sibling_key_t, j_sibling_val_t (from memory).</remarks>
internal sealed record SiblingLink(ulong SiblingId, ulong Parent, string Name, Trust Trust)
{
    private const int NameAt = 10;

    public static Parsed<SiblingLink> Read(FileRecord record)
    {
        ReadOnlySpan<byte> value = record.Value.Span;
        if (value.Length < NameAt || BinaryPrimitives.ReadUInt16LittleEndian(value[8..]) > value.Length - NameAt)
            return new Parsed<SiblingLink>.Damaged(At: 0, "sibling record cut short");
        return new Parsed<SiblingLink>.Value(new SiblingLink(record.Key.Part, BinaryPrimitives.ReadUInt64LittleEndian(value),
            ApfsText.Read(value.Slice(NameAt, BinaryPrimitives.ReadUInt16LittleEndian(value[8..]))), record.Trust));
    }
}

/// <summary>One extended attribute: its bytes, or the number of the data stream that holds them.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, j_xattr_key_t, j_xattr_val_t, j_xattr_dstream_t (from memory).</remarks>
internal sealed record ExtendedAttribute(string Name, ReadOnlyMemory<byte> Embedded, ulong? StreamId, ulong StreamSize, Trust Trust)
{
    public const string Symlink = "com.apple.fs.symlink";
    public const string Compression = "com.apple.decmpfs";
    public const string ResourceFork = "com.apple.ResourceFork";

    private const int NameAt = 10;
    private const int DataAt = 4;
    private const int IsStream = 1;

    public static Parsed<ExtendedAttribute> Read(FileRecord record)
    {
        ReadOnlySpan<byte> key = record.KeyBytes.Span, value = record.Value.Span;
        if (key.Length < NameAt || BinaryPrimitives.ReadUInt16LittleEndian(key[8..]) > key.Length - NameAt)
            return new Parsed<ExtendedAttribute>.Damaged(At: 8, "attribute's name cut short");
        if (value.Length < DataAt || BinaryPrimitives.ReadUInt16LittleEndian(value[2..]) > value.Length - DataAt)
            return new Parsed<ExtendedAttribute>.Damaged(At: 2, "attribute cut short");
        string name = ApfsText.Read(key.Slice(NameAt, BinaryPrimitives.ReadUInt16LittleEndian(key[8..])));
        ReadOnlyMemory<byte> data = record.Value.Slice(DataAt, BinaryPrimitives.ReadUInt16LittleEndian(value[2..]));
        bool stream = (value[0] & IsStream) != 0;
        if (stream && data.Length < 16)
            return new Parsed<ExtendedAttribute>.Damaged(At: DataAt, "attribute's stream cut short");
        return new Parsed<ExtendedAttribute>.Value(stream
            ? new ExtendedAttribute(name, default, BinaryPrimitives.ReadUInt64LittleEndian(data.Span), BinaryPrimitives.ReadUInt64LittleEndian(data.Span[8..]), record.Trust)
            : new ExtendedAttribute(name, data, null, (ulong)data.Length, record.Trust));
    }
}

/// <summary>One stretch of a data stream; address 0 reads as zeros.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, j_file_extent_val_t (from memory).</remarks>
internal readonly record struct FileExtent(ulong At, ulong Length, ulong Address, Trust Trust)
{
    private const ulong LengthMask = (1UL << 56) - 1;

    public static FileExtent? Read(FileRecord record)
    {
        ReadOnlySpan<byte> value = record.Value.Span;
        return value.Length < 16 ? null : new FileExtent(record.Key.Part,
            BinaryPrimitives.ReadUInt64LittleEndian(value) & LengthMask, BinaryPrimitives.ReadUInt64LittleEndian(value[8..]), record.Trust);
    }
}
