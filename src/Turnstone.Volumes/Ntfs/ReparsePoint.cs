using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Volumes.Ntfs;

/// <summary>What a reparse point says of the file that carries it.</summary>
/// <param name="Tag">Its tag.</param>
/// <param name="Target">Where a link leads, or null for what is no link.</param>
/// <remarks>
/// Tags: Linux kernel 6.1, fs/ntfs3/ntfs.h, enum IO_REPARSE_TAG; buffers of links: same file, struct REPARSE_DATA_BUFFER;
/// tag of a POSIX link: ntfs-3g 2022.10.3 writes it. Cloud tags: Microsoft, [MS-FSCC] 2.1.2.1 (from memory).
/// </remarks>
internal sealed record ReparsePoint(uint Tag, string? Target)
{
    private const uint MountPoint = 0xA000_0003, SymbolicLink = 0xA000_000C, PosixLink = 0xA000_001D;
    private const uint SystemCompressed = 0x8000_0017, Deduplicated = 0x8000_0013, SingleInstance = 0x8000_0007, OfflineStorage = 0xC000_0004, OfflineStorage2 = 0x8000_0006;
    private const uint Cloud = 0x9000_001A, CloudMask = 0xFFFF_0FFF;
    private const int Head = 8;

    /// <summary>Name of the stream that holds the packed bytes of a file with system compression.</summary>
    public const string PackedStream = "WofCompressedData";

    /// <summary>Whether the file's bytes stand, packed, in another stream of it.</summary>
    public bool IsSystemCompressed => Tag == SystemCompressed;

    /// <summary>Why the unnamed stream is not the file's content; null where it is.</summary>
    public string? ContentIsElsewhere => Tag switch
    {
        SystemCompressed => $"packed by system compression; its bytes stand in the stream '{PackedStream}', in a coding that is not decoded here",
        Deduplicated => "deduplicated: its bytes are in the volume's chunk store under 'System Volume Information', which is not put together here",
        SingleInstance => "stored once for several files: its bytes are in the volume's common store, which is not put together here",
        OfflineStorage or OfflineStorage2 => "moved to offline storage: only a stand-in is on this disk",
        _ when (Tag & CloudMask) == Cloud => "placeholder of a cloud service: the content may never have been on this disk; ask the client for the account",
        _ => null,
    };

    /// <summary>Reads the attribute's value; damaged where it is too short or names lie outside.</summary>
    public static Parsed<ReparsePoint> Read(ReadOnlySpan<byte> value)
    {
        if (value.Length < Head)
            return new Parsed<ReparsePoint>.Damaged(value.Length, "reparse point cut short");
        uint tag = BinaryPrimitives.ReadUInt32LittleEndian(value);
        ReadOnlySpan<byte> data = value[Head..];
        return tag switch
        {
            MountPoint => Names(tag, data, 8),
            SymbolicLink => Names(tag, data, 12),
            PosixLink when data.Length >= 4 => new Parsed<ReparsePoint>.Value(new ReparsePoint(tag, Encoding.UTF8.GetString(data[4..]))),
            _ => new Parsed<ReparsePoint>.Value(new ReparsePoint(tag, Target: null)),
        };
    }

    // The print name is what a person typed; it may be empty, then the name that the system follows stands in.
    private static Parsed<ReparsePoint> Names(uint tag, ReadOnlySpan<byte> data, int head)
    {
        if (data.Length < head)
            return new Parsed<ReparsePoint>.Damaged(Head + data.Length, "link cut short");
        string? substitute = Name(data, head, at: 0), print = Name(data, head, at: 4);
        return substitute is null || print is null
            ? new Parsed<ReparsePoint>.Damaged(Head, "a name of the link lies outside it")
            : new Parsed<ReparsePoint>.Value(new ReparsePoint(tag, print.Length > 0 ? print : substitute));
    }

    private static string? Name(ReadOnlySpan<byte> data, int head, int at)
    {
        int offset = head + BinaryPrimitives.ReadUInt16LittleEndian(data[at..]), length = BinaryPrimitives.ReadUInt16LittleEndian(data[(at + 2)..]);
        return offset + length > data.Length ? null : Utf16.Of(data.Slice(offset, length & ~1));
    }
}
