using System.Buffers.Binary;

namespace Turnstone.Volumes.Partitions;

/// <summary>One of the four entries of an MBR or of a link of an extended partition.</summary>
/// <param name="Type">Type code; 0 means that the entry is not used.</param>
/// <param name="First">First sector, counted from what the entry's table counts from.</param>
/// <param name="Sectors">How many sectors.</param>
internal readonly record struct MbrEntry(byte Type, uint First, uint Sectors)
{
    public bool IsUsed => Type != 0 && Sectors != 0;

    public bool IsExtended => Type is 0x05 or 0x0F or 0x85;

    public bool IsProtective => Type == 0xEE;
}

/// <summary>The sector with the old partition table.</summary>
/// <remarks>UEFI Specification 2.x, section 5.2 (from memory).</remarks>
/// <param name="Entries">Its four entries, used or not.</param>
internal sealed record MbrSector(IReadOnlyList<MbrEntry> Entries)
{
    public const int Length = 512;
    private const int Table = 446, EntryLength = 16, EntryCount = 4, Signature = 510;
    private const int BootIndicator = 0, OsType = 4, StartingLba = 8, SizeInLba = 12;

    public static Parsed<MbrSector> Read(ReadOnlySpan<byte> sector)
    {
        if (sector.Length < Length)
            return new Parsed<MbrSector>.Damaged(sector.Length, "partition table cut short");
        if (BinaryPrimitives.ReadUInt16LittleEndian(sector[Signature..]) != 0xAA55)
            return new Parsed<MbrSector>.Damaged(Signature, "no boot signature");
        var entries = new MbrEntry[EntryCount];
        for (int i = 0; i < EntryCount; i++)
        {
            int at = Table + (i * EntryLength);
            ReadOnlySpan<byte> entry = sector.Slice(at, EntryLength);
            if (entry[BootIndicator] is not (0 or 0x80))
                return new Parsed<MbrSector>.Damaged(at, $"boot flag {entry[BootIndicator]:X2} in entry {i + 1}");
            entries[i] = new MbrEntry(entry[OsType], BinaryPrimitives.ReadUInt32LittleEndian(entry[StartingLba..]), BinaryPrimitives.ReadUInt32LittleEndian(entry[SizeInLba..]));
        }

        return new Parsed<MbrSector>.Value(new MbrSector(entries));
    }
}
