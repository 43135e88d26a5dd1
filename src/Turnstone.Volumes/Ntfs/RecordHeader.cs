using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Points to a record of the file table: its number, and the sequence number that it had when the reference was made.</summary>
internal readonly record struct RecordReference(long Number, ushort Sequence)
{
    /// <summary>The reference that eight bytes of the disk hold: 48 bits of number, 16 of sequence.</summary>
    public static RecordReference Of(ulong raw) => new((long)(raw & 0xFFFF_FFFF_FFFF), (ushort)(raw >> 48));

    /// <summary>The reference at the start of the bytes.</summary>
    public static RecordReference Read(ReadOnlySpan<byte> bytes) => Of(BinaryPrimitives.ReadUInt64LittleEndian(bytes));

    /// <summary>What the sequence number becomes when the record is given up: one more, never 0.</summary>
    public ushort AfterDeletion => Sequence == ushort.MaxValue ? (ushort)1 : (ushort)(Sequence + 1);
}

/// <summary>Head of one record of the file table.</summary>
/// <param name="Number">Which record it is.</param>
/// <param name="Sequence">How often the record was given out.</param>
/// <param name="IsInUse">Whether it belongs to a live file.</param>
/// <param name="IsFolder">Whether that is a folder.</param>
/// <param name="FirstAttribute">Offset of the first attribute.</param>
/// <param name="Used">Bytes of the record in use.</param>
/// <param name="Base">The record that this one continues; number 0 and sequence 0 for one that stands for itself.</param>
/// <param name="Good">Which strides of the record may be believed.</param>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct MFT_REC.</remarks>
internal readonly record struct RecordHeader(long Number, ushort Sequence, bool IsInUse, bool IsFolder, int FirstAttribute, int Used, RecordReference Base, Strides Good)
{
    private const int ArrayAt = 0x04, SequenceAt = 0x10, FirstAt = 0x14, FlagsAt = 0x16, UsedAt = 0x18, AllocatedAt = 0x1C, BaseAt = 0x20, NumberAt = 0x2C, NumberEnd = 0x30;
    private const int InUse = 1, Folder = 2;

    /// <summary>Whether the record continues another one.</summary>
    public bool IsExtension => Base != default;

    /// <summary>A reference to this record as it is now.</summary>
    public RecordReference Reference => new(Number, Sequence);

    /// <summary>Restores the record in place and reads its head.</summary>
    /// <param name="record">The whole record as it lies on the disk.</param>
    /// <param name="held">Which strides are held.</param>
    /// <param name="number">The number that its place gives it; null where the place is not known and the record itself has to tell.</param>
    public static Parsed<RecordHeader> Read(Span<byte> record, Strides held, long? number)
    {
        Parsed<Strides> restored = MultiSector.Restore(record, "FILE"u8, held);
        if (restored is not Parsed<Strides>.Value { Item: var good })
            return restored.Match<Parsed<RecordHeader>>(_ => new Parsed<RecordHeader>.NotHeld(), d => new Parsed<RecordHeader>.Damaged(d.At, d.What), () => new Parsed<RecordHeader>.NotHeld());

        int first = BinaryPrimitives.ReadUInt16LittleEndian(record[FirstAt..]);
        uint used = BinaryPrimitives.ReadUInt32LittleEndian(record[UsedAt..]), allocated = BinaryPrimitives.ReadUInt32LittleEndian(record[AllocatedAt..]);
        if (allocated != record.Length || used > allocated)
            return new Parsed<RecordHeader>.Damaged(UsedAt, $"{used} of {allocated} bytes used");
        if (first < 0x2A || first % 8 != 0 || first > used || first > Strides.Bytes - 4)
            return new Parsed<RecordHeader>.Damaged(FirstAt, $"first attribute at {first}");

        // NTFS before 3.1 has the update array where the number stands since.
        bool tellsNumber = BinaryPrimitives.ReadUInt16LittleEndian(record[ArrayAt..]) >= NumberEnd;
        uint own = BinaryPrimitives.ReadUInt32LittleEndian(record[NumberAt..]);
        if (number is null && !tellsNumber)
            return new Parsed<RecordHeader>.Damaged(NumberAt, "does not tell its number");
        if (number is long expected && tellsNumber && own != (uint)expected)
            return new Parsed<RecordHeader>.Damaged(NumberAt, $"says that it is record {own}");

        int flags = BinaryPrimitives.ReadUInt16LittleEndian(record[FlagsAt..]);
        ushort sequence = BinaryPrimitives.ReadUInt16LittleEndian(record[SequenceAt..]);
        return new Parsed<RecordHeader>.Value(new RecordHeader(number ?? own, sequence, (flags & InUse) != 0, (flags & Folder) != 0, first, (int)used, RecordReference.Read(record[BaseAt..]), good));
    }
}
