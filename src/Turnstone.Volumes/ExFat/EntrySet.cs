using System.Buffers.Binary;
using System.Runtime.InteropServices;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>Which part of a set lies in a hole.</summary>
internal enum LostPart
{
    None,
    Head,
    Tail,
}

/// <summary>The directory entries that together describe one file or folder.</summary>
/// <remarks>Microsoft, exFAT file system specification, sections 6.3 and 7.4 to 7.7.</remarks>
internal static class EntrySet
{
    public const int Slot = 32;
    public const byte InUse = 0x80, Secondary = 0x40;
    public const byte File = 0x85, Stream = 0xC0, Name = 0xC1;
    private const int SecondaryCount = 1, SetChecksum = 2, FileAttributes = 4, Created = 8, Modified = 12, Accessed = 16,
        Created10Ms = 20, Modified10Ms = 21, CreatedUtc = 22, ModifiedUtc = 23, AccessedUtc = 24;
    private const int GeneralFlags = 1, NameLength = 3, NameHash = 4, ValidDataLength = 8, FirstCluster = 20, DataLength = 24;
    private const int NoFatChain = 2, FolderAttribute = 0x10;

    /// <summary>Slots of the set that starts with this file entry.</summary>
    public static int Slots(ReadOnlySpan<byte> file) => 1 + file[SecondaryCount];

    /// <summary>The sum over all bytes of a set but its own, taken as if the set were in use.</summary>
    public static ushort Checksum(ReadOnlySpan<byte> set)
    {
        ushort sum = 0;
        for (int i = 0; i < set.Length; i++)
        {
            if (i is SetChecksum or SetChecksum + 1)
                continue;
            byte b = i % Slot == 0 ? (byte)(set[i] | InUse) : set[i];
            sum = Add(sum, b);
        }

        return sum;
    }

    /// <summary>The hash over a name in upper case.</summary>
    public static ushort HashOfName(ReadOnlySpan<char> upperCase)
    {
        ushort hash = 0;
        foreach (byte b in MemoryMarshal.AsBytes(upperCase))
            hash = Add(hash, b);
        return hash;
    }

    // Sixteen bits wide; BitOperations would rotate thirty-two.
    private static ushort Add(ushort sum, byte b) => (ushort)(((sum >> 1) | (sum << 15)) + b);

    /// <summary>Reads a set, live or deleted.</summary>
    /// <param name="set">Its slots; those that are lost are left out at the end, or empty at the front.</param>
    /// <param name="upCase">The volume's up-case table.</param>
    /// <param name="lost">Which part of it a hole has taken.</param>
    public static Parsed<FoundEntry> Read(ReadOnlySpan<byte> set, UpCaseTable upCase, LostPart lost = LostPart.None)
    {
        if (set.Length < 2 * Slot)
            return new Parsed<FoundEntry>.Damaged(set.Length, "a set without its stream entry");
        ReadOnlySpan<byte> stream = set.Slice(Slot, Slot);
        if (stream[0] != (Stream & ~InUse | (set[0] & InUse)))
            return new Parsed<FoundEntry>.Damaged(Slot, $"entry type {stream[0]:X2} where the stream belongs");
        string name = NameOf(set, stream[NameLength]);
        bool sumFits = set.Length == Slots(set) * Slot && BinaryPrimitives.ReadUInt16LittleEndian(set[SetChecksum..]) == Checksum(set);
        bool hashFits = name.Length > 0 && name.Length == stream[NameLength] && BinaryPrimitives.ReadUInt16LittleEndian(stream[NameHash..]) == HashOfName(upCase.Upper(name));
        FoundEntry entry = Entry(set, stream, name);
        return lost switch
        {
            LostPart.None when sumFits && name.Length > 0 => new Parsed<FoundEntry>.Value(entry),
            LostPart.None when hashFits => Guessed(entry, "the checksum of its directory entries does not fit"),
            LostPart.Head when hashFits => Guessed(entry, "the part of its directory entries with times and attributes is not held; it may be a folder"),
            LostPart.Tail when LooksSane(entry, stream) => Guessed(entry with { Name = name + "…" }, "a part of its name is not held"),
            LostPart.None or LostPart.Head or LostPart.Tail => new Parsed<FoundEntry>.Damaged(SetChecksum, "neither the set's checksum nor its name's hash fits"),
        };
    }

    private static Parsed<FoundEntry> Guessed(FoundEntry entry, string note) =>
        new Parsed<FoundEntry>.Value(entry with { Certainty = Certainty.Guessed, Notes = [note] });

    /// <summary>With neither sum nor hash to go by: fields that every driver fills alike.</summary>
    private static bool LooksSane(FoundEntry entry, ReadOnlySpan<byte> stream) =>
        (stream[GeneralFlags] & ~3) == 0 && stream[NameLength] > 0 && entry.Written <= entry.Size && entry.Times is { Modified: not null, Created: not null };

    private static FoundEntry Entry(ReadOnlySpan<byte> set, ReadOnlySpan<byte> stream, string name)
    {
        int attributes = BinaryPrimitives.ReadUInt16LittleEndian(set[FileAttributes..]);
        return new FoundEntry
        {
            Name = name,
            IsFolder = (attributes & FolderAttribute) != 0,
            Deleted = (set[0] & InUse) == 0,
            Attributes = Flags(attributes),
            Times = TimesOf(set),
            FirstCluster = BinaryPrimitives.ReadUInt32LittleEndian(stream[FirstCluster..]),
            Size = Bytes(stream[DataLength..]),
            Written = Bytes(stream[ValidDataLength..]),
            InARow = (stream[GeneralFlags] & NoFatChain) != 0,
        };
    }

    private static long Bytes(ReadOnlySpan<byte> field) => (long)Math.Min(BinaryPrimitives.ReadUInt64LittleEndian(field), long.MaxValue);

    /// <summary>The letters that the name entries hold, at most as many as the stream entry says.</summary>
    private static string NameOf(ReadOnlySpan<byte> set, int length)
    {
        Span<char> name = stackalloc char[byte.MaxValue];
        int have = 0;
        for (int at = 2 * Slot; at < set.Length && have < length && set[at] == (Name & ~InUse | (set[0] & InUse)); at += Slot)
        {
            ReadOnlySpan<char> part = MemoryMarshal.Cast<byte, char>(set.Slice(at + 2, Slot - 2));
            int take = Math.Min(part.Length, length - have);
            part[..take].CopyTo(name[have..]);
            have += take;
        }

        return new string(name[..have]);
    }

    private static EntryTimes TimesOf(ReadOnlySpan<byte> file) => new(
        Modified: Time(file, Modified, file[Modified10Ms], file[ModifiedUtc]),
        Created: Time(file, Created, file[Created10Ms], file[CreatedUtc]),
        Accessed: Time(file, Accessed, 0, file[AccessedUtc]));

    /// <summary>Bit 7 of the offset says whether it is known; the rest is a signed count of quarter hours.</summary>
    private static DateTimeOffset? Time(ReadOnlySpan<byte> file, int at, int hundredths, byte utc)
    {
        int quarters = (utc & 0x80) == 0 ? 0 : (sbyte)(utc << 1) >> 1;
        bool isOffset = quarters is >= -56 and <= 56;
        return DosTime.Read(
            BinaryPrimitives.ReadUInt16LittleEndian(file[(at + 2)..]), BinaryPrimitives.ReadUInt16LittleEndian(file[at..]), hundredths,
            TimeSpan.FromMinutes(isOffset ? quarters * 15 : 0));
    }

    private static EntryAttributes Flags(int attributes) =>
        (EntryAttributes)(attributes & 7) | ((attributes & 0x20) == 0 ? EntryAttributes.None : EntryAttributes.Archive);
}
