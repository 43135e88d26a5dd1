using System.Numerics;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Block size and block count of a volume, against which every run is checked.</summary>
internal readonly record struct VolumeShape(int BlockBytes, uint TotalBlocks)
{
    // The boot blocks and the volume header lie in front of this byte: no file can.
    private const long FirstFileByte = 1536;

    public long Bytes => (long)TotalBlocks * BlockBytes;

    /// <summary>Whether a file's blocks can lie there.</summary>
    public bool Allows(BlockRun run) => run.End <= TotalBlocks && (long)run.Start * BlockBytes >= FirstFileByte;
}

/// <summary>The volume header: block size, size of the volume, and where its special files lie.</summary>
/// <remarks>
/// Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Volume Header" (from memory);
/// offsets agree with volumes that the Linux kernel's hfsplus driver fills.
/// </remarks>
internal sealed record VolumeHeader
{
    public const int Length = 512;

    /// <summary>Where the header lies, and how far before the volume's end its copy.</summary>
    public const int At = 1024;

    private const ushort Plus = 0x482B, Extended = 0x4858;
    private const int Version = 2, AttributesAt = 4, JournalAt = 12, BlockSize = 40, Total = 44, Free = 48,
        NextIdAt = 64, IdAt = 104, AllocationAt = 112, ExtentsAt = 192, CatalogAt = 272, AttributesFileAt = 352;

    private const uint UnmountedBit = 1 << 8, InconsistentBit = 1 << 11, JournaledBit = 1 << 13;

    public required bool IsExtended { get; init; }

    public required uint Flags { get; init; }

    public required uint JournalInfoBlock { get; init; }

    public required VolumeShape Shape { get; init; }

    public required uint NextId { get; init; }

    public required ulong VolumeId { get; init; }

    public required ForkData Allocation { get; init; }

    public required ForkData Extents { get; init; }

    public required ForkData Catalog { get; init; }

    public required ForkData Attributes { get; init; }

    public bool IsJournaled => (Flags & JournaledBit) != 0;

    public bool WasUnmounted => (Flags & UnmountedBit) != 0;

    public bool IsInconsistent => (Flags & InconsistentBit) != 0;

    public static Parsed<VolumeHeader> Read(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < Length)
            return new Parsed<VolumeHeader>.Damaged(bytes.Length, "volume header cut short");
        if (bytes.U16(0) is not (Plus or Extended))
            return new Parsed<VolumeHeader>.Damaged(0, $"signature {bytes.U16(0):X4}");
        if (bytes.U16(Version) is not (4 or 5))
            return new Parsed<VolumeHeader>.Damaged(Version, $"version {bytes.U16(Version)}");
        uint block = bytes.U32(BlockSize);
        if (!BitOperations.IsPow2(block) || block is < 512 or > 1 << 20)
            return new Parsed<VolumeHeader>.Damaged(BlockSize, $"block size {block}");
        if (bytes.U32(Total) == 0 || bytes.U32(Free) > bytes.U32(Total))
            return new Parsed<VolumeHeader>.Damaged(Total, $"{bytes.U32(Total)} blocks, {bytes.U32(Free)} of them free");
        VolumeHeader header = Fields(bytes, new VolumeShape((int)block, bytes.U32(Total)));
        return header.Catalog.Runs.Count > 0 && header.Shape.Allows(header.Catalog.Runs[0])
            ? new Parsed<VolumeHeader>.Value(header)
            : new Parsed<VolumeHeader>.Damaged(CatalogAt, "catalog file without a place in the volume");
    }

    private static VolumeHeader Fields(ReadOnlySpan<byte> bytes, VolumeShape shape) => new()
    {
        IsExtended = bytes.U16(0) == Extended,
        Flags = bytes.U32(AttributesAt),
        JournalInfoBlock = bytes.U32(JournalAt),
        Shape = shape,
        NextId = bytes.U32(NextIdAt),
        VolumeId = bytes.U64(IdAt),
        Allocation = ForkData.Read(bytes[AllocationAt..]),
        Extents = ForkData.Read(bytes[ExtentsAt..]),
        Catalog = ForkData.Read(bytes[CatalogAt..]),
        Attributes = ForkData.Read(bytes[AttributesFileAt..]),
    };
}
