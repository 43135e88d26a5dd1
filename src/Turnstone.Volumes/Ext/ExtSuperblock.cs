using System.Buffers.Binary;
using System.Numerics;

namespace Turnstone.Volumes.Ext;

/// <summary>Superblock of an ext2, ext3 or ext4 volume, or one of its copies.</summary>
/// <remarks>Offsets and names: Linux kernel 6.1 documentation, filesystems/ext4, 'Super Block'.</remarks>
internal sealed record ExtSuperblock
{
    /// <summary>Bytes of the structure.</summary>
    public const int Size = 1024;

    /// <summary>Where the first one lies in the volume.</summary>
    public const int Place = 1024;

    private const int InodesCount = 0x00, BlocksCountLow = 0x04, FirstDataBlockAt = 0x14, LogBlockSize = 0x18, LogClusterSize = 0x1C;
    private const int BlocksPerGroupAt = 0x20, ClustersPerGroupAt = 0x24, InodesPerGroupAt = 0x28, Magic = 0x38, RevLevel = 0x4C;
    private const int FirstInode = 0x54, InodeSizeAt = 0x58, BlockGroupNumber = 0x5A, FeatureCompat = 0x5C, FeatureIncompat = 0x60;
    private const int FeatureRoCompat = 0x64, Uuid = 0x68, VolumeName = 0x78, ReservedGdtBlocks = 0xCE, JournalInum = 0xE0;
    private const int JournalBackupType = 0xFD, DescSize = 0xFE, FirstMetaBg = 0x104, JournalBlocks = 0x10C, BlocksCountHigh = 0x150;
    private const int LogGroupsPerFlex = 0x174, BackupBgs = 0x24C, ChecksumSeedAt = 0x270, OrphanFileInum = 0x280, Checksum = 0x3FC;

    /// <summary>Fewest inodes that a volume has: the reserved ones.</summary>
    private const uint FewestInodes = 11;

    /// <summary>Fewest blocks that mke2fs takes for a group.</summary>
    private const int FewestBlocksPerGroup = 256;

    /// <summary>An exbibyte of the largest blocks: what the format can address at most.</summary>
    private const long MostBlocks = 1L << 44;

    public required uint Inodes { get; init; }
    public required long Blocks { get; init; }
    public required int BlockSize { get; init; }
    public required long FirstDataBlock { get; init; }
    public required int BlocksPerGroup { get; init; }
    public required int ClusterBlocks { get; init; }
    public required int InodesPerGroup { get; init; }
    public required int InodeSize { get; init; }
    public required uint FirstFreeInode { get; init; }
    public required int CopyOfGroup { get; init; }
    public required Compatible Compatible { get; init; }
    public required Incompatible Incompatible { get; init; }
    public required ReadOnlyCompatible ReadOnlyCompatible { get; init; }
    public required Guid Id { get; init; }
    public required string Label { get; init; }
    public required int ReservedDescriptorBlocks { get; init; }
    public required uint JournalInode { get; init; }
    public required ReadOnlyMemory<byte> JournalMap { get; init; }
    public required int DescriptorSize { get; init; }
    public required uint FirstMetaGroup { get; init; }
    public required int GroupsPerFlex { get; init; }
    public required (uint First, uint Second) SparseCopies { get; init; }
    public required uint SumSeed { get; init; }
    public required uint OrphanFile { get; init; }
    public required ReadOnlyMemory<byte> UuidBytes { get; init; }

    /// <summary>Whether the structure's own checksum fits; true also where it keeps none.</summary>
    public required bool SumFits { get; init; }

    public bool HasMetadataSums => ReadOnlyCompatible.HasFlag(ReadOnlyCompatible.MetadataSums);

    public bool HasDescriptorSums => HasMetadataSums || ReadOnlyCompatible.HasFlag(ReadOnlyCompatible.DescriptorSums);

    public long Groups => (Blocks - FirstDataBlock + BlocksPerGroup - 1) / BlocksPerGroup;

    public int DescriptorsPerBlock => BlockSize / DescriptorSize;

    public long DescriptorBlocks => (Groups + DescriptorsPerBlock - 1) / DescriptorsPerBlock;

    public long Bytes => Blocks * BlockSize;

    /// <summary>What decides where everything lies: equal in all copies of one superblock.</summary>
    public (int, long, int, int, int, Incompatible) Layout =>
        (BlockSize, FirstDataBlock, BlocksPerGroup, InodesPerGroup, InodeSize, Incompatible & ~Incompatible.Recover);

    /// <summary>Reads a superblock from its first byte.</summary>
    public static Parsed<ExtSuperblock> Read(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < Size)
            return new Parsed<ExtSuperblock>.Damaged(bytes.Length, "superblock cut short");
        if (U16(bytes, Magic) != 0xEF53)
            return new Parsed<ExtSuperblock>.Damaged(Magic, $"magic {U16(bytes, Magic):X4}");
        uint log = U32(bytes, LogBlockSize);
        if (log > 6)
            return new Parsed<ExtSuperblock>.Damaged(LogBlockSize, $"block size 2^{log + 10L}");
        return Take(bytes) is var read && Nonsense(read, U32(bytes, ClustersPerGroupAt)) is var (at, what)
            ? new Parsed<ExtSuperblock>.Damaged(at, what)
            : new Parsed<ExtSuperblock>.Value(read);
    }

    private static ExtSuperblock Take(ReadOnlySpan<byte> b)
    {
        bool dynamic = U32(b, RevLevel) >= 1;
        var incompatible = dynamic ? (Incompatible)U32(b, FeatureIncompat) : Incompatible.None;
        var readOnly = dynamic ? (ReadOnlyCompatible)U32(b, FeatureRoCompat) : ReadOnlyCompatible.None;
        bool wide = incompatible.HasFlag(Incompatible.Bits64);
        uint log = U32(b, LogBlockSize), logCluster = U32(b, LogClusterSize);
        byte[] uuid = b.Slice(Uuid, 16).ToArray();
        return new ExtSuperblock
        {
            Inodes = U32(b, InodesCount),
            Blocks = U32(b, BlocksCountLow) + (wide ? (long)(U32(b, BlocksCountHigh) & 0xFFFF) << 32 : 0),
            BlockSize = 1024 << (int)log,
            FirstDataBlock = U32(b, FirstDataBlockAt),
            BlocksPerGroup = (int)Math.Min(U32(b, BlocksPerGroupAt), int.MaxValue),
            ClusterBlocks = readOnly.HasFlag(ReadOnlyCompatible.BigAlloc) && logCluster - log < 20 ? 1 << (int)(logCluster - log) : 1,
            InodesPerGroup = (int)Math.Min(U32(b, InodesPerGroupAt), int.MaxValue),
            InodeSize = dynamic ? U16(b, InodeSizeAt) : ExtInode.SmallSize,
            FirstFreeInode = dynamic ? U32(b, FirstInode) : FewestInodes,
            CopyOfGroup = dynamic ? U16(b, BlockGroupNumber) : 0,
            Compatible = dynamic ? (Compatible)U32(b, FeatureCompat) : Compatible.None,
            Incompatible = incompatible,
            ReadOnlyCompatible = readOnly,
            Id = new Guid(uuid, bigEndian: true),
            Label = ExtNames.Show(UpToNul(b.Slice(VolumeName, 16))),
            ReservedDescriptorBlocks = U16(b, ReservedGdtBlocks),
            JournalInode = U32(b, JournalInum),
            JournalMap = b[JournalBackupType] == 1 ? b.Slice(JournalBlocks, 68).ToArray() : ReadOnlyMemory<byte>.Empty,
            DescriptorSize = wide ? U16(b, DescSize) : 32,
            FirstMetaGroup = incompatible.HasFlag(Incompatible.MetaBlockGroups) ? U32(b, FirstMetaBg) : uint.MaxValue,
            GroupsPerFlex = incompatible.HasFlag(Incompatible.FlexGroups) && b[LogGroupsPerFlex] < 31 ? 1 << b[LogGroupsPerFlex] : 1,
            SparseCopies = (U32(b, BackupBgs), U32(b, BackupBgs + 4)),
            SumSeed = incompatible.HasFlag(Incompatible.ChecksumSeed) ? U32(b, ChecksumSeedAt) : ExtSums.Crc32C(ExtSums.Start, uuid),
            OrphanFile = U32(b, OrphanFileInum),
            UuidBytes = uuid,
            SumFits = !readOnly.HasFlag(ReadOnlyCompatible.MetadataSums) || ExtSums.Crc32C(ExtSums.Start, b[..Checksum]) == U32(b, Checksum),
        };
    }

    /// <summary>Where the fields contradict each other or the format; null where they don't.</summary>
    private static (int At, string What)? Nonsense(ExtSuperblock s, uint clustersPerGroup)
    {
        int bits = s.BlockSize * 8;
        if (s.BlocksPerGroup < FewestBlocksPerGroup || s.BlocksPerGroup % s.ClusterBlocks != 0 || s.BlocksPerGroup / s.ClusterBlocks > bits)
            return (BlocksPerGroupAt, $"{s.BlocksPerGroup} blocks in a group");
        if (s.ClusterBlocks > 1 && clustersPerGroup != s.BlocksPerGroup / s.ClusterBlocks)
            return (ClustersPerGroupAt, $"{clustersPerGroup} clusters in a group of {s.BlocksPerGroup} blocks");
        if (s.FirstDataBlock > 1 || s.Blocks <= s.FirstDataBlock || s.Blocks > MostBlocks)
            return (BlocksCountLow, $"{s.Blocks} blocks from block {s.FirstDataBlock} on");
        if (s.InodeSize < ExtInode.SmallSize || s.InodeSize > s.BlockSize || !BitOperations.IsPow2(s.InodeSize))
            return (InodeSizeAt, $"inodes of {s.InodeSize} bytes");
        if (s.InodesPerGroup < 1 || s.InodesPerGroup > bits)
            return (InodesPerGroupAt, $"{s.InodesPerGroup} inodes in a group");
        if (s.DescriptorSize < 32 || s.DescriptorSize > s.BlockSize || !BitOperations.IsPow2(s.DescriptorSize))
            return (DescSize, $"descriptors of {s.DescriptorSize} bytes");
        return !s.Incompatible.HasFlag(Incompatible.JournalDevice) && s.Groups * s.InodesPerGroup != s.Inodes
            ? (InodesCount, $"{s.Inodes} inodes in {s.Groups} groups of {s.InodesPerGroup}")
            : null;
    }

    private static ReadOnlySpan<byte> UpToNul(ReadOnlySpan<byte> text) => text.IndexOf((byte)0) is >= 0 and var end ? text[..end] : text;

    private static uint U32(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt32LittleEndian(b[at..]);

    private static int U16(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt16LittleEndian(b[at..]);
}
