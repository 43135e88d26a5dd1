using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>What an inode's record tells.</summary>
/// <remarks>Field names and offsets: Apple, Apple File System Reference, 2020, j_inode_val_t (from memory).</remarks>
internal sealed record Inode
{
    private const int ParentId = 0;
    private const int PrivateId = 8;
    private const int CreateTime = 16;
    private const int ModTime = 24;
    private const int ChangeTime = 32;
    private const int AccessTime = 40;
    private const int InternalFlags = 48;
    private const int Nlink = 56;
    private const int BsdFlags = 68;
    private const int Mode = 80;
    private const int Xfields = 92;

    private const ulong WasClonedFlag = 0x10;
    private const ulong WasEverClonedFlag = 0x400;
    private const uint Immutable = 2;
    private const uint CompressedFlag = 0x20;
    private const uint HiddenFlag = 0x8000;
    private const uint Dataless = 0x4000_0000;
    private const byte NameField = 4;
    private const byte StreamField = 8;
    private const int FileTypeMask = 0xF000;

    public required ulong Id { get; init; }
    public required ulong Parent { get; init; }

    /// <summary>Number under which its extents stand; several inodes share one after a clone.</summary>
    public required ulong StreamId { get; init; }
    public required EntryTimes Times { get; init; }
    public required bool MayShareBlocks { get; init; }
    public required int Links { get; init; }
    public required uint Flags { get; init; }
    public required EntryKind Kind { get; init; }

    /// <summary>Its own name; null where the record keeps none.</summary>
    public required string? Name { get; init; }

    /// <summary>Bytes of its data stream; null where it has none.</summary>
    public required ulong? Size { get; init; }
    public required Trust Trust { get; init; }

    public bool IsCompressed => (Flags & CompressedFlag) != 0;

    /// <summary>Whether its bytes were left with a cloud service.</summary>
    public bool IsDataless => (Flags & Dataless) != 0;

    public EntryAttributes Attributes =>
        ((Flags & Immutable) != 0 ? EntryAttributes.ReadOnly : EntryAttributes.None)
        | ((Flags & HiddenFlag) != 0 ? EntryAttributes.Hidden : EntryAttributes.None)
        | (IsCompressed ? EntryAttributes.Compressed : EntryAttributes.None);

    public static Parsed<Inode> Read(FileRecord record)
    {
        ReadOnlySpan<byte> value = record.Value.Span;
        if (value.Length < Xfields)
            return new Parsed<Inode>.Damaged(At: value.Length, "inode cut short");
        ReadOnlyMemory<byte> stream = ExtraFields.Find(record.Value[Xfields..], StreamField);
        ReadOnlyMemory<byte> name = ExtraFields.Find(record.Value[Xfields..], NameField);
        return new Parsed<Inode>.Value(new Inode
        {
            Id = record.Key.Id,
            Parent = U64(value, ParentId),
            StreamId = U64(value, PrivateId),
            Times = new EntryTimes(ApfsTime.Read(U64(value, ModTime)), ApfsTime.Read(U64(value, CreateTime)),
                ApfsTime.Read(U64(value, AccessTime)), ApfsTime.Read(U64(value, ChangeTime))),
            MayShareBlocks = (U64(value, InternalFlags) & (WasClonedFlag | WasEverClonedFlag)) != 0,
            Links = BinaryPrimitives.ReadInt32LittleEndian(value[Nlink..]),
            Flags = BinaryPrimitives.ReadUInt32LittleEndian(value[BsdFlags..]),
            Kind = KindOf(BinaryPrimitives.ReadUInt16LittleEndian(value[Mode..])),
            Name = name.IsEmpty ? null : ApfsText.Read(name.Span),
            Size = stream.Length < 8 ? null : U64(stream.Span, 0),
            Trust = record.Trust,
        });
    }

    private static EntryKind KindOf(ushort mode) => (mode & FileTypeMask) switch
    {
        0x8000 => EntryKind.File,
        0x4000 => EntryKind.Folder,
        0xA000 => EntryKind.Link,
        _ => EntryKind.Other,
    };

    private static ulong U64(ReadOnlySpan<byte> value, int at) => BinaryPrimitives.ReadUInt64LittleEndian(value[at..]);
}

/// <summary>Times in nanoseconds since 1970.</summary>
internal static class ApfsTime
{
    private const ulong NanosecondsPerTick = 100;

    public static DateTimeOffset? Read(ulong nanoseconds) =>
        nanoseconds is 0 or > long.MaxValue ? null : DateTimeOffset.UnixEpoch.AddTicks((long)(nanoseconds / NanosecondsPerTick));
}

/// <summary>The extended fields behind an inode's or directory record's fixed part.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, xf_blob_t and x_field_t (from memory).</remarks>
internal static class ExtraFields
{
    private const int Table = 4;
    private const int EntryLength = 4;
    private const int Alignment = 8;

    /// <summary>The data of one field; empty where there is no such field or it lies outside.</summary>
    public static ReadOnlyMemory<byte> Find(ReadOnlyMemory<byte> blob, byte type)
    {
        if (blob.Length < Table)
            return default;
        int count = BinaryPrimitives.ReadUInt16LittleEndian(blob.Span);
        int data = Table + (count * EntryLength);
        for (int i = 0; i < count && data <= blob.Length; i++)
        {
            ReadOnlySpan<byte> entry = blob.Span[(Table + (i * EntryLength))..];
            int length = BinaryPrimitives.ReadUInt16LittleEndian(entry[2..]);
            if (entry[0] == type)
                return length <= blob.Length - data ? blob.Slice(data, length) : default;
            data += (length + Alignment - 1) / Alignment * Alignment;
        }

        return default;
    }
}
