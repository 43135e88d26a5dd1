using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>A run of blocks.</summary>
internal readonly record struct BlockRun(ulong Start, ulong Count);

/// <summary>The superblock of a container: one for each checkpoint, and a copy in block 0.</summary>
/// <remarks>Field names and offsets: Apple, Apple File System Reference, 2020, nx_superblock_t (from memory).</remarks>
internal sealed record ContainerSuperblock
{
    private const int Magic = 32;
    private const int BlockSize = 36;
    private const int BlockCount = 40;
    private const int IncompatibleFeatures = 64;
    private const int ContainerUuid = 72;
    private const int XpDescBlocks = 104;
    private const int XpDescBase = 112;
    private const int XpDescIndex = 136;
    private const int XpDescLen = 140;
    private const int SpacemanOid = 152;
    private const int OmapOid = 160;
    private const int MaxFileSystems = 180;
    private const int FsOid = 184;
    private const int Keylocker = 1296;
    private const int End = 1408;

    private const int MostFileSystems = 100;
    private const ulong Fusion = 0x100;
    private const uint Scattered = 0x8000_0000;

    public required ulong Xid { get; init; }
    public required int BlockBytes { get; init; }
    public required ulong Blocks { get; init; }
    public required Guid Uuid { get; init; }
    public required bool IsFusion { get; init; }

    /// <summary>The ring of superblocks and checkpoint maps; its start is a tree's block where it <see cref="IsScattered"/>.</summary>
    public required BlockRun DescriptorArea { get; init; }
    public required bool IsScattered { get; init; }

    /// <summary>Where in the ring this checkpoint begins, and how many of the ring's blocks it takes, its superblock last.</summary>
    public required uint DescriptorIndex { get; init; }
    public required uint DescriptorLength { get; init; }

    public required ulong SpaceManagerOid { get; init; }
    public required ulong ObjectMapAddress { get; init; }
    public required IReadOnlyList<ulong> VolumeOids { get; init; }

    /// <summary>Where the wrapped keys of encrypted volumes lie; empty where there are none.</summary>
    public required BlockRun KeyLocker { get; init; }

    /// <summary>Whether the bytes claim to be a superblock, whatever their checksum says.</summary>
    public static bool Claims(ReadOnlySpan<byte> block) => block.Length >= End && block.Slice(Magic, 4).SequenceEqual("NXSB"u8);

    /// <summary>The block size that the bytes claim, or 0.</summary>
    public static int ClaimedBlockBytes(ReadOnlySpan<byte> block)
    {
        uint size = Claims(block) ? BinaryPrimitives.ReadUInt32LittleEndian(block[BlockSize..]) : 0;
        return size is >= 4096 and <= 65_536 && uint.IsPow2(size) ? (int)size : 0;
    }

    /// <summary>The superblock, its checksum proven.</summary>
    /// <param name="block">A whole block.</param>
    public static Parsed<ContainerSuperblock> Read(ReadOnlySpan<byte> block)
    {
        if (!Claims(block))
            return new Parsed<ContainerSuperblock>.Damaged(At: Magic, "no 'NXSB'");
        int size = ClaimedBlockBytes(block);
        if (size == 0 || size != block.Length)
            return new Parsed<ContainerSuperblock>.Damaged(At: BlockSize, "a block size that does not fit");
        if (!ObjectHeader.IsProven(block))
            return new Parsed<ContainerSuperblock>.Damaged(At: 0, "the checksum does not fit");
        return new Parsed<ContainerSuperblock>.Value(Fields(block, size));
    }

    private static ContainerSuperblock Fields(ReadOnlySpan<byte> block, int size)
    {
        uint descriptorBlocks = U32(block, XpDescBlocks);
        return new ContainerSuperblock
        {
            Xid = ObjectHeader.Read(block).Xid,
            BlockBytes = size,
            Blocks = U64(block, BlockCount),
            Uuid = new Guid(block.Slice(ContainerUuid, 16), bigEndian: true),
            IsFusion = (U64(block, IncompatibleFeatures) & Fusion) != 0,
            DescriptorArea = new BlockRun(U64(block, XpDescBase), descriptorBlocks & ~Scattered),
            IsScattered = (descriptorBlocks & Scattered) != 0,
            DescriptorIndex = U32(block, XpDescIndex),
            DescriptorLength = U32(block, XpDescLen),
            SpaceManagerOid = U64(block, SpacemanOid),
            ObjectMapAddress = U64(block, OmapOid),
            VolumeOids = VolumeList(block),
            KeyLocker = new BlockRun(U64(block, Keylocker), U64(block, Keylocker + 8)),
        };
    }

    private static List<ulong> VolumeList(ReadOnlySpan<byte> block)
    {
        var oids = new List<ulong>();
        uint most = Math.Min(U32(block, MaxFileSystems), MostFileSystems);
        for (int i = 0; i < most; i++)
        {
            ulong oid = U64(block, FsOid + (8 * i));
            if (oid != 0 && !oids.Contains(oid))
                oids.Add(oid);
        }

        return oids;
    }

    private static uint U32(ReadOnlySpan<byte> block, int at) => BinaryPrimitives.ReadUInt32LittleEndian(block[at..]);

    private static ulong U64(ReadOnlySpan<byte> block, int at) => BinaryPrimitives.ReadUInt64LittleEndian(block[at..]);
}
