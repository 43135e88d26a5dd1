using System.Buffers.Binary;

namespace Turnstone.Volumes.Ext;

/// <summary>What the upper bits of an inode's mode say it is.</summary>
internal enum InodeType
{
    None = 0,
    Pipe = 0x1,
    CharacterDevice = 0x2,
    Directory = 0x4,
    BlockDevice = 0x6,
    Regular = 0x8,
    Link = 0xA,
    Socket = 0xC,
}

/// <summary>Flags of an inode that change how it is read.</summary>
[Flags]
internal enum InodeFlags : uint
{
    Immutable = 0x10,
    Encrypted = 0x800,
    Hashed = 0x1000,
    Extents = 0x8_0000,
    Verity = 0x10_0000,
    AttributeInode = 0x20_0000,
    InlineData = 0x1000_0000,
}

/// <summary>One inode, read from its bytes as they are asked for.</summary>
/// <remarks>Offsets and names: Linux kernel 6.1 documentation, filesystems/ext4, 'Index Nodes'.</remarks>
internal readonly struct ExtInode
{
    /// <summary>Bytes of an inode without the part that ext4 added.</summary>
    public const int SmallSize = 128;

    /// <summary>Bytes of the block map.</summary>
    public const int MapSize = 60;

    private const int ModeAt = 0x00, SizeLow = 0x04, AccessTime = 0x08, ChangeTime = 0x0C, ModifyTime = 0x10, DeleteTime = 0x14;
    private const int LinksCount = 0x1A, FlagsAt = 0x20, BlockMapAt = 0x28, GenerationAt = 0x64, SizeHigh = 0x6C;
    private const int ChecksumLow = 0x7C, ExtraSize = 0x80, ChecksumHigh = 0x82, ChangeTimeExtra = 0x84, ModifyTimeExtra = 0x88;
    private const int AccessTimeExtra = 0x8C, CreateTime = 0x90, CreateTimeExtra = 0x94;

    private readonly ReadOnlyMemory<byte> _raw;

    public ExtInode(uint number, ReadOnlyMemory<byte> raw)
    {
        Number = number;
        _raw = raw;
    }

    public uint Number { get; }

    public InodeType Type => (InodeType)(U16(ModeAt) >> 12);

    public int Links => U16(LinksCount);

    public uint Deleted => U32(DeleteTime);

    public InodeFlags Flags => (InodeFlags)U32(FlagsAt);

    public uint Generation => U32(GenerationAt);

    public ReadOnlyMemory<byte> Map => _raw.Slice(BlockMapAt, MapSize);

    /// <summary>Whether nothing was ever written there.</summary>
    public bool IsBlank => Type == InodeType.None && Links == 0 && Deleted == 0;

    /// <summary>Whether it belongs to something that is there.</summary>
    public bool IsLive => Links > 0 && IsKnownType;

    /// <summary>Whether it belonged to something that was removed. On the list of orphans the time's place holds a number.</summary>
    public bool IsDeleted => Links == 0 && IsKnownType;

    private bool IsKnownType => Type is InodeType.Pipe or InodeType.CharacterDevice or InodeType.Directory or InodeType.BlockDevice
        or InodeType.Regular or InodeType.Link or InodeType.Socket;

    /// <summary>Bytes of the content; negative where the field makes no sense.</summary>
    public long Size(ExtSuperblock super)
    {
        bool wide = Type == InodeType.Regular || (Type == InodeType.Directory && super.Incompatible.HasFlag(Incompatible.LargeDirectories));
        return U32(SizeLow) + (wide ? (long)(int)U32(SizeHigh) << 32 : 0);
    }

    public EntryKind Kind => Type switch
    {
        InodeType.Directory => EntryKind.Folder,
        InodeType.Regular => EntryKind.File,
        InodeType.Link => EntryKind.Link,
        InodeType.None or InodeType.Pipe or InodeType.CharacterDevice or InodeType.BlockDevice or InodeType.Socket => EntryKind.Other,
    };

    public EntryTimes Times => new(
        Time(ModifyTime, ModifyTimeExtra),
        Created: Reaches(CreateTime) && U32(CreateTime) != 0 ? Time(CreateTime, CreateTimeExtra) : null,
        Accessed: Time(AccessTime, AccessTimeExtra),
        Changed: Time(ChangeTime, ChangeTimeExtra));

    public EntryAttributes Attributes =>
        (Flags.HasFlag(InodeFlags.Immutable) ? EntryAttributes.ReadOnly : EntryAttributes.None)
        | (Flags.HasFlag(InodeFlags.Encrypted) ? EntryAttributes.Encrypted : EntryAttributes.None);

    /// <summary>The part after the fields, where small attributes and the rest of inline data lie; empty where there is none.</summary>
    public ReadOnlyMemory<byte> Attic =>
        _raw.Length > SmallSize && U16(ExtraSize) <= _raw.Length - SmallSize && U16(ExtraSize) % 4 == 0
            ? _raw[(SmallSize + U16(ExtraSize))..] : ReadOnlyMemory<byte>.Empty;

    /// <summary>Start of the sums over blocks that belong to this inode.</summary>
    public uint Seed(ExtSuperblock super) => ExtSums.Crc32C(ExtSums.Crc32C(super.SumSeed, Number), Generation);

    /// <summary>Whether the checksum fits; it also proves the number. True where the volume keeps none.</summary>
    public bool SumFits(ExtSuperblock super)
    {
        if (!super.HasMetadataSums)
            return true;
        ReadOnlySpan<byte> raw = _raw.Span;
        uint sum = ExtSums.Crc32C(Seed(super), raw[..ChecksumLow]);
        sum = ExtSums.Crc32C(sum, [0, 0]);
        sum = ExtSums.Crc32C(sum, raw[(ChecksumLow + 2)..SmallSize]);
        if (raw.Length == SmallSize)
            return (sum & 0xFFFF) == U16(ChecksumLow);
        sum = ExtSums.Crc32C(sum, raw[SmallSize..ChecksumHigh]);
        if (!Reaches(ChecksumHigh, sizeof(ushort)))
            return (ExtSums.Crc32C(sum, raw[ChecksumHigh..]) & 0xFFFF) == U16(ChecksumLow);
        sum = ExtSums.Crc32C(ExtSums.Crc32C(sum, [0, 0]), raw[(ChecksumHigh + 2)..]);
        return sum == (U16(ChecksumLow) | ((uint)U16(ChecksumHigh) << 16));
    }

    private DateTimeOffset? Time(int at, int extraAt)
    {
        uint extra = Reaches(extraAt) ? U32(extraAt) : 0;
        long seconds = (int)U32(at) + ((long)(extra & 3) << 32);
        uint nanoseconds = extra >> 2;
        return nanoseconds > 999_999_999 ? null : DateTimeOffset.FromUnixTimeSeconds(seconds).AddTicks(nanoseconds / 100);
    }

    private bool Reaches(int at, int length = sizeof(uint)) => _raw.Length > SmallSize && at + length <= SmallSize + U16(ExtraSize) && at + length <= _raw.Length;

    private uint U32(int at) => BinaryPrimitives.ReadUInt32LittleEndian(_raw.Span[at..]);

    private ushort U16(int at) => BinaryPrimitives.ReadUInt16LittleEndian(_raw.Span[at..]);
}
