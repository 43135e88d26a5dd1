using System.Buffers.Binary;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>First sector of an exFAT volume, or of its copy twelve sectors further on.</summary>
/// <remarks>Microsoft, exFAT file system specification, section 3.1.</remarks>
internal sealed record ExFatBootSector
{
    public const int Length = 512;
    public const int BootSectors = 12;
    private const int FileSystemName = 3, MustBeZero = 11, MustBeZeroLength = 53, VolumeLength = 72, FatOffset = 80, FatLength = 84, ClusterHeapOffset = 88,
        ClusterCount = 92, FirstClusterOfRootDirectory = 96, VolumeSerialNumber = 100, VolumeFlags = 106, BytesPerSectorShift = 108,
        SectorsPerClusterShift = 109, NumberOfFats = 110, BootSignature = 510;

    public required int SectorBytes { get; init; }

    public required int ClusterBytes { get; init; }

    /// <summary>Sectors of the whole volume.</summary>
    public required long Sectors { get; init; }

    public required uint FatStart { get; init; }

    public required uint FatSectors { get; init; }

    public required int Fats { get; init; }

    public required uint HeapStart { get; init; }

    public required uint Clusters { get; init; }

    public required uint RootCluster { get; init; }

    public required uint Serial { get; init; }

    /// <summary>Bit 0: the second FAT is the active one; 1: not cleanly unmounted; 2: the system has seen the medium fail.</summary>
    public required int Flags { get; init; }

    public long VolumeBytes => Sectors * SectorBytes;

    public static Parsed<ExFatBootSector> Read(ReadOnlySpan<byte> sector)
    {
        if (sector.Length < Length)
            return new Parsed<ExFatBootSector>.Damaged(sector.Length, "boot sector cut short");
        if (!sector.Slice(FileSystemName, 8).SequenceEqual("EXFAT   "u8))
            return new Parsed<ExFatBootSector>.Damaged(FileSystemName, "no exFAT name");
        if (sector.Slice(MustBeZero, MustBeZeroLength).ContainsAnyExcept((byte)0))
            return new Parsed<ExFatBootSector>.Damaged(MustBeZero, "bytes that must be zero are not");
        if (BinaryPrimitives.ReadUInt16LittleEndian(sector[BootSignature..]) != 0xAA55)
            return new Parsed<ExFatBootSector>.Damaged(BootSignature, "no boot signature");
        if (sector[BytesPerSectorShift] is < 9 or > 12)
            return new Parsed<ExFatBootSector>.Damaged(BytesPerSectorShift, $"sector size 2^{sector[BytesPerSectorShift]}");
        if (sector[SectorsPerClusterShift] > 25 - sector[BytesPerSectorShift])
            return new Parsed<ExFatBootSector>.Damaged(SectorsPerClusterShift, $"cluster size 2^{sector[SectorsPerClusterShift]} sectors");
        if (sector[NumberOfFats] is not (1 or 2))
            return new Parsed<ExFatBootSector>.Damaged(NumberOfFats, $"{sector[NumberOfFats]} allocation tables");
        return Check(new ExFatBootSector
        {
            SectorBytes = 1 << sector[BytesPerSectorShift],
            ClusterBytes = 1 << (sector[BytesPerSectorShift] + sector[SectorsPerClusterShift]),
            Sectors = BinaryPrimitives.ReadInt64LittleEndian(sector[VolumeLength..]),
            FatStart = BinaryPrimitives.ReadUInt32LittleEndian(sector[FatOffset..]),
            FatSectors = BinaryPrimitives.ReadUInt32LittleEndian(sector[FatLength..]),
            Fats = sector[NumberOfFats],
            HeapStart = BinaryPrimitives.ReadUInt32LittleEndian(sector[ClusterHeapOffset..]),
            Clusters = BinaryPrimitives.ReadUInt32LittleEndian(sector[ClusterCount..]),
            RootCluster = BinaryPrimitives.ReadUInt32LittleEndian(sector[FirstClusterOfRootDirectory..]),
            Serial = BinaryPrimitives.ReadUInt32LittleEndian(sector[VolumeSerialNumber..]),
            Flags = BinaryPrimitives.ReadUInt16LittleEndian(sector[VolumeFlags..]),
        });
    }

    /// <summary>Fields against each other; their ranges are those of section 3.1.</summary>
    private static Parsed<ExFatBootSector> Check(ExFatBootSector boot)
    {
        if (boot.Sectors <= 0 || boot.Sectors > long.MaxValue / boot.SectorBytes)
            return new Parsed<ExFatBootSector>.Damaged(VolumeLength, $"a volume of {boot.Sectors} sectors");
        if (boot.FatStart < 24 || boot.FatStart >= boot.Sectors)
            return new Parsed<ExFatBootSector>.Damaged(FatOffset, $"allocation table at sector {boot.FatStart}");
        if ((long)boot.FatSectors * boot.SectorBytes < (boot.Clusters + 2L) * 4)
            return new Parsed<ExFatBootSector>.Damaged(FatLength, $"allocation table of {boot.FatSectors} sectors for {boot.Clusters} clusters");
        if (boot.HeapStart < boot.FatStart + ((long)boot.FatSectors * boot.Fats) || boot.HeapStart >= boot.Sectors)
            return new Parsed<ExFatBootSector>.Damaged(ClusterHeapOffset, $"clusters start at sector {boot.HeapStart}");
        if (boot.Clusters == 0 || boot.Clusters > (boot.Sectors - boot.HeapStart) / (boot.ClusterBytes / boot.SectorBytes) || boot.Clusters > uint.MaxValue - 10)
            return new Parsed<ExFatBootSector>.Damaged(ClusterCount, $"{boot.Clusters} clusters");
        return boot.Heap().Holds(boot.RootCluster)
            ? new Parsed<ExFatBootSector>.Value(boot)
            : new Parsed<ExFatBootSector>.Damaged(FirstClusterOfRootDirectory, $"root folder at cluster {boot.RootCluster}");
    }

    public ClusterHeap Heap() => new((long)HeapStart * SectorBytes, ClusterBytes, Clusters);

    /// <summary>The copies of the table, the active one in front.</summary>
    public TableLayout Table()
    {
        long length = (long)FatSectors * SectorBytes;
        var first = new ByteRange((long)FatStart * SectorBytes, length);
        // A second table belongs to the transaction-safe variant and holds another state, not a copy: only the active one counts.
        return new TableLayout(TableWidth.ExFat, [Fats == 2 && (Flags & 1) == 1 ? new ByteRange(first.End, length) : first], Heap());
    }
}
