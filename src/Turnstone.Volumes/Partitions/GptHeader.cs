using System.Buffers.Binary;
using System.IO.Hashing;

namespace Turnstone.Volumes.Partitions;

/// <summary>Header of a GUID partition table, the first one or the one at the end of the disk.</summary>
/// <remarks>UEFI Specification 2.x, section 5.3.2 (from memory).</remarks>
internal sealed record GptHeader
{
    public const int Length = 92;
    private const int HeaderSize = 12, HeaderCrc32 = 16, MyLba = 24, AlternateLba = 32, DiskGuid = 56, PartitionEntryLba = 72,
        NumberOfPartitionEntries = 80, SizeOfPartitionEntry = 84, PartitionEntryArrayCrc32 = 88;

    // 128 entries of 128 bytes are usual; a megabyte is far past anything that systems write.
    private const long MostArrayBytes = 1 << 20;

    public required long Own { get; init; }

    public required long Alternate { get; init; }

    public required Guid Disk { get; init; }

    public required long ArrayStart { get; init; }

    public required int Entries { get; init; }

    public required int EntryBytes { get; init; }

    public required uint ArrayCrc { get; init; }

    public int ArrayBytes => Entries * EntryBytes;

    /// <summary>Reads a header and checks its sum.</summary>
    /// <param name="sector">The sector that it fills.</param>
    public static Parsed<GptHeader> Read(ReadOnlySpan<byte> sector)
    {
        if (sector.Length < Length)
            return new Parsed<GptHeader>.Damaged(sector.Length, "table header cut short");
        if (!sector[..8].SequenceEqual("EFI PART"u8))
            return new Parsed<GptHeader>.Damaged(0, "no table header");
        uint length = BinaryPrimitives.ReadUInt32LittleEndian(sector[HeaderSize..]);
        if (length < Length || length > sector.Length)
            return new Parsed<GptHeader>.Damaged(HeaderSize, $"a header of {length} bytes");
        if (BinaryPrimitives.ReadUInt32LittleEndian(sector[HeaderCrc32..]) != CrcOf(sector[..(int)length]))
            return new Parsed<GptHeader>.Damaged(HeaderCrc32, "the header's checksum does not fit");
        uint entries = BinaryPrimitives.ReadUInt32LittleEndian(sector[NumberOfPartitionEntries..]);
        uint entryBytes = BinaryPrimitives.ReadUInt32LittleEndian(sector[SizeOfPartitionEntry..]);
        if (entryBytes < GptEntry.Length || (long)entries * entryBytes > MostArrayBytes)
            return new Parsed<GptHeader>.Damaged(NumberOfPartitionEntries, $"{entries} entries of {entryBytes} bytes");
        return new Parsed<GptHeader>.Value(new GptHeader
        {
            Own = BinaryPrimitives.ReadInt64LittleEndian(sector[MyLba..]),
            Alternate = BinaryPrimitives.ReadInt64LittleEndian(sector[AlternateLba..]),
            Disk = new Guid(sector.Slice(DiskGuid, 16)),
            ArrayStart = BinaryPrimitives.ReadInt64LittleEndian(sector[PartitionEntryLba..]),
            Entries = (int)entries,
            EntryBytes = (int)entryBytes,
            ArrayCrc = BinaryPrimitives.ReadUInt32LittleEndian(sector[PartitionEntryArrayCrc32..]),
        });
    }

    /// <summary>CRC-32 over the header with its own field taken as zero.</summary>
    private static uint CrcOf(ReadOnlySpan<byte> header)
    {
        byte[] bytes = header.ToArray();
        bytes.AsSpan(HeaderCrc32, 4).Clear();
        return Crc32.HashToUInt32(bytes);
    }
}
