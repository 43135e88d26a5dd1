using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>Kind of a record in a volume's file tree: the top four bits of its key.</summary>
internal enum RecordType : byte
{
    Inode = 3,
    Attribute = 4,
    Sibling = 5,
    Extent = 8,
    DirectoryEntry = 9,
}

/// <summary>Key of a record, as far as the tree's order needs it.</summary>
/// <param name="Id">The object that the record belongs to.</param>
/// <param name="Type">Its kind.</param>
/// <param name="Part">Which of several: the offset in the file, the hash of the name, the sibling's number.</param>
internal readonly record struct RecordKey(ulong Id, RecordType Type, ulong Part) : IComparable<RecordKey>
{
    private const int TypeShift = 60;

    public static RecordKey Lowest => default;

    public static RecordKey Highest { get; } = new(ulong.MaxValue, (RecordType)byte.MaxValue, ulong.MaxValue);

    /// <summary>The key; null where the bytes are too few.</summary>
    /// <param name="key">As it stands in a node.</param>
    /// <param name="hashed">Whether directory records carry a hash.</param>
    public static RecordKey? Read(ReadOnlySpan<byte> key, bool hashed)
    {
        if (key.Length < 8)
            return null;
        ulong head = BinaryPrimitives.ReadUInt64LittleEndian(key);
        var type = (RecordType)(head >> TypeShift);
        ReadOnlySpan<byte> rest = key[8..];
        ulong part = type switch
        {
            RecordType.Extent or RecordType.Sibling when rest.Length >= 8 => BinaryPrimitives.ReadUInt64LittleEndian(rest),
            RecordType.DirectoryEntry when hashed && rest.Length >= 4 => BinaryPrimitives.ReadUInt32LittleEndian(rest),
            _ => 0,
        };
        return new RecordKey(head & ((1UL << TypeShift) - 1), type, part);
    }

    /// <summary>Whether it belongs to an earlier object or kind; the order within a kind is left to who wrote it.</summary>
    public bool IsBefore(RecordKey other) => Id < other.Id || (Id == other.Id && Type < other.Type);

    public int CompareTo(RecordKey other)
    {
        int order = Id.CompareTo(other.Id);
        if (order == 0)
            order = Type.CompareTo(other.Type);
        return order == 0 ? Part.CompareTo(other.Part) : order;
    }

    public static bool operator <(RecordKey left, RecordKey right) => left.CompareTo(right) < 0;

    public static bool operator >(RecordKey left, RecordKey right) => left.CompareTo(right) > 0;

    public static bool operator <=(RecordKey left, RecordKey right) => left.CompareTo(right) <= 0;

    public static bool operator >=(RecordKey left, RecordKey right) => left.CompareTo(right) >= 0;
}

/// <summary>One record of a file tree.</summary>
internal readonly record struct FileRecord(RecordKey Key, ReadOnlyMemory<byte> KeyBytes, ReadOnlyMemory<byte> Value, Trust Trust);
