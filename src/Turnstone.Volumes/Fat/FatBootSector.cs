using System.Buffers.Binary;
using System.Text;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Fat;

/// <summary>Boot sector of a FAT12, FAT16 or FAT32 volume.</summary>
/// <remarks>Offsets and names: Microsoft, FAT: General Overview of On-Disk Format, 1.03, 2000 (from memory).</remarks>
internal sealed record FatBootSector
{
    public const int Length = 512;
    private const int Jump = 0, BytsPerSec = 11, SecPerClus = 13, RsvdSecCnt = 14, NumFats = 16, RootEntCnt = 17, TotSec16 = 19, Media = 21, FatSz16 = 22,
        TotSec32 = 32, FatSz32 = 36, ExtFlags = 40, RootClus = 44, FsInfo = 48, BkBootSec = 50, Signature = 510;

    public required int SectorBytes { get; init; }

    public required int ClusterBytes { get; init; }

    public required int ReservedSectors { get; init; }

    public required int Fats { get; init; }

    public required int RootSlots { get; init; }

    public required long Sectors { get; init; }

    public required long FatSectors { get; init; }

    /// <summary>FAT32: bit 7 one table only is active, bits 0 to 3 which.</summary>
    public required int Flags { get; init; }

    /// <summary>FAT32 only, else 0.</summary>
    public required uint RootCluster { get; init; }

    /// <summary>FAT32: sector of the hints about free space; 0 where there is none.</summary>
    public required int InfoSector { get; init; }

    /// <summary>FAT32: sector of the boot sector's copy; 0 where there is none.</summary>
    public required int CopySector { get; init; }

    public required uint? Serial { get; init; }

    public required string? Label { get; init; }

    public long RootStart => (ReservedSectors + (Fats * FatSectors)) * SectorBytes;

    public long RootBytes => (((RootSlots * 32L) + SectorBytes - 1) / SectorBytes) * SectorBytes;

    public uint Clusters => (uint)Math.Min((Sectors - ((RootStart + RootBytes) / SectorBytes)) / (ClusterBytes / SectorBytes), 0x0FFF_FFF5);

    /// <summary>The number of clusters alone says which kind it is.</summary>
    public TableWidth Width => Clusters < 4085 ? TableWidth.Fat12 : Clusters < 65_525 ? TableWidth.Fat16 : TableWidth.Fat32;

    public static Parsed<FatBootSector> Read(ReadOnlySpan<byte> sector)
    {
        if (sector.Length < Length)
            return new Parsed<FatBootSector>.Damaged(sector.Length, "boot sector cut short");
        if (BinaryPrimitives.ReadUInt16LittleEndian(sector[Signature..]) != 0xAA55)
            return new Parsed<FatBootSector>.Damaged(Signature, "no boot signature");
        if (sector[Jump] is not (0xEB or 0xE9))
            return new Parsed<FatBootSector>.Damaged(Jump, $"starts with {sector[Jump]:X2}, not with a jump");
        int sectorBytes = BinaryPrimitives.ReadUInt16LittleEndian(sector[BytsPerSec..]);
        if (sectorBytes is not (512 or 1024 or 2048 or 4096))
            return new Parsed<FatBootSector>.Damaged(BytsPerSec, $"sector size {sectorBytes}");
        if (!int.IsPow2(sector[SecPerClus]))
            return new Parsed<FatBootSector>.Damaged(SecPerClus, $"{sector[SecPerClus]} sectors in a cluster");
        if (sector[Media] is not (0xF0 or >= 0xF8))
            return new Parsed<FatBootSector>.Damaged(Media, $"media byte {sector[Media]:X2}");
        return sector[NumFats] is 0 or > 4
            ? new Parsed<FatBootSector>.Damaged(NumFats, $"{sector[NumFats]} allocation tables")
            : Check(Fields(sector, sectorBytes));
    }

    private static FatBootSector Fields(ReadOnlySpan<byte> sector, int sectorBytes)
    {
        int fat16 = BinaryPrimitives.ReadUInt16LittleEndian(sector[FatSz16..]);
        int total16 = BinaryPrimitives.ReadUInt16LittleEndian(sector[TotSec16..]);
        bool is32 = fat16 == 0;
        int extended = is32 ? 66 : 38;
        bool hasExtended = sector[extended] is 0x28 or 0x29;
        return new FatBootSector
        {
            SectorBytes = sectorBytes,
            ClusterBytes = sectorBytes * sector[SecPerClus],
            ReservedSectors = BinaryPrimitives.ReadUInt16LittleEndian(sector[RsvdSecCnt..]),
            Fats = sector[NumFats],
            RootSlots = BinaryPrimitives.ReadUInt16LittleEndian(sector[RootEntCnt..]),
            Sectors = total16 != 0 ? total16 : BinaryPrimitives.ReadUInt32LittleEndian(sector[TotSec32..]),
            FatSectors = is32 ? BinaryPrimitives.ReadUInt32LittleEndian(sector[FatSz32..]) : fat16,
            Flags = is32 ? BinaryPrimitives.ReadUInt16LittleEndian(sector[ExtFlags..]) : 0,
            RootCluster = is32 ? BinaryPrimitives.ReadUInt32LittleEndian(sector[RootClus..]) & 0x0FFF_FFFF : 0,
            InfoSector = is32 ? BinaryPrimitives.ReadUInt16LittleEndian(sector[FsInfo..]) : 0,
            CopySector = is32 ? BinaryPrimitives.ReadUInt16LittleEndian(sector[BkBootSec..]) : 0,
            Serial = hasExtended ? BinaryPrimitives.ReadUInt32LittleEndian(sector[(extended + 1)..]) : null,
            Label = sector[extended] == 0x29 ? LabelOf(sector.Slice(extended + 5, 11)) : null,
        };
    }

    private static string? LabelOf(ReadOnlySpan<byte> field)
    {
        string label = Encoding.Latin1.GetString(field).TrimEnd(' ', '\0');
        return label is "" or "NO NAME" ? null : label;
    }

    /// <summary>Fields against each other.</summary>
    private static Parsed<FatBootSector> Check(FatBootSector boot)
    {
        if (boot.ReservedSectors == 0)
            return new Parsed<FatBootSector>.Damaged(RsvdSecCnt, "no reserved sector");
        if (boot.FatSectors == 0)
            return new Parsed<FatBootSector>.Damaged(FatSz32, "no allocation table");
        if ((boot.RootStart + boot.RootBytes) / boot.SectorBytes >= boot.Sectors)
            return new Parsed<FatBootSector>.Damaged(TotSec32, $"{boot.Sectors} sectors are too few for its tables");
        if (boot.Clusters == 0)
            return new Parsed<FatBootSector>.Damaged(TotSec32, "no room for a cluster");
        if (boot.Width == TableWidth.Fat32 != (boot.RootSlots == 0))
            return new Parsed<FatBootSector>.Damaged(RootEntCnt, $"{boot.RootSlots} root entries with {boot.Clusters} clusters");
        if (boot.FatSectors * boot.SectorBytes < boot.Layout().UsedBytes)
            return new Parsed<FatBootSector>.Damaged(FatSz32, $"allocation table of {boot.FatSectors} sectors for {boot.Clusters} clusters");
        return boot.Width == TableWidth.Fat32 && !boot.Heap().Holds(boot.RootCluster)
            ? new Parsed<FatBootSector>.Damaged(RootClus, $"root folder at cluster {boot.RootCluster}")
            : new Parsed<FatBootSector>.Value(boot);
    }

    public ClusterHeap Heap() => new(RootStart + RootBytes, ClusterBytes, Clusters);

    /// <summary>The tables; where mirroring is off only the active one counts.</summary>
    public TableLayout Layout()
    {
        long length = FatSectors * SectorBytes;
        IEnumerable<int> copies = (Flags & 0x80) != 0 && (Flags & 15) < Fats ? [Flags & 15] : Enumerable.Range(0, Fats);
        return new TableLayout(Width, [.. copies.Select(copy => new ByteRange(((long)ReservedSectors * SectorBytes) + (copy * length), length))], Heap());
    }
}
