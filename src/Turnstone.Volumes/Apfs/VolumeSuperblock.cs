using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Volumes.Apfs;

/// <summary>The superblock of one volume in a container.</summary>
/// <remarks>Field names and offsets: Apple, Apple File System Reference, 2020, apfs_superblock_t (from memory).</remarks>
internal sealed record VolumeSuperblock
{
    private const int Magic = 32;
    private const int IncompatibleFeatures = 56;
    private const int OmapOid = 128;
    private const int RootTreeOid = 136;
    private const int SnapMetaTreeOid = 152;
    private const int VolUuid = 240;
    private const int FsFlags = 264;
    private const int VolName = 704;
    private const int VolNameLength = 256;
    private const int Role = 964;

    private const ulong CaseInsensitive = 1;
    private const ulong NormalizationInsensitive = 8;
    private const ulong Sealed = 0x20;
    private const ulong Unencrypted = 1;

    public required ulong Oid { get; init; }
    public required ulong Xid { get; init; }
    public required ulong Address { get; init; }
    public required ulong ObjectMapAddress { get; init; }
    public required ulong RootOid { get; init; }
    public required ulong SnapshotTreeAddress { get; init; }
    public required Guid Uuid { get; init; }
    public required string Name { get; init; }
    public required string? RoleName { get; init; }
    public required bool IsEncrypted { get; init; }
    public required bool IsCaseSensitive { get; init; }

    /// <summary>Whether the operating system sealed it: its file extents lie in a tree of their own.</summary>
    public required bool IsSealed { get; init; }

    /// <summary>Whether directory records carry a hash of the name before it.</summary>
    public required bool HasHashedNames { get; init; }

    public static Parsed<VolumeSuperblock> Read(ApfsObject from)
    {
        ReadOnlySpan<byte> block = from.Bytes.Span;
        if (from.Header.Kind != ObjectKind.VolumeSuperblock || !block.Slice(Magic, 4).SequenceEqual("APSB"u8))
            return new Parsed<VolumeSuperblock>.Damaged(At: Magic, "no 'APSB'");
        ulong features = U64(block, IncompatibleFeatures);
        return new Parsed<VolumeSuperblock>.Value(new VolumeSuperblock
        {
            Oid = from.Header.Oid,
            Xid = from.Header.Xid,
            Address = from.Address,
            ObjectMapAddress = U64(block, OmapOid),
            RootOid = U64(block, RootTreeOid),
            SnapshotTreeAddress = U64(block, SnapMetaTreeOid),
            Uuid = new Guid(block.Slice(VolUuid, 16), bigEndian: true),
            Name = ApfsText.Read(block.Slice(VolName, VolNameLength)),
            RoleName = RoleIn(BinaryPrimitives.ReadUInt16LittleEndian(block[Role..])),
            IsEncrypted = (U64(block, FsFlags) & Unencrypted) == 0,
            IsCaseSensitive = (features & CaseInsensitive) == 0,
            IsSealed = (features & Sealed) != 0,
            HasHashedNames = (features & (CaseInsensitive | NormalizationInsensitive)) != 0,
        });
    }

    private static string? RoleIn(ushort role) => role switch
    {
        0x0001 => "system",
        0x0002 => "user",
        0x0004 => "recovery",
        0x0008 => "virtual memory",
        0x0010 => "preboot",
        0x0020 => "installer",
        0x0040 => "data",
        0x0080 => "baseband",
        0x00C0 => "update",
        0x0140 => "hardware",
        0x0180 => "backup",
        _ => null,
    };

    private static ulong U64(ReadOnlySpan<byte> block, int at) => BinaryPrimitives.ReadUInt64LittleEndian(block[at..]);
}

/// <summary>Text as the file system keeps it: UTF-8, ended by a zero byte or by its field.</summary>
internal static class ApfsText
{
    public static string Read(ReadOnlySpan<byte> field)
    {
        int end = field.IndexOf((byte)0);
        return Encoding.UTF8.GetString(end < 0 ? field : field[..end]);
    }
}
