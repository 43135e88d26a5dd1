using System.Buffers.Binary;
using System.Text;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Fat;

/// <summary>The 32 bytes that describe one file or folder under its short name.</summary>
/// <remarks>Microsoft, FAT: General Overview of On-Disk Format, 1.03, 2000 (from memory). Bits 3 and 4 of <c>NTRes</c>: common practice, no source.</remarks>
internal static class ShortEntry
{
    public const int Slot = 32, NameLength = 11;
    public const byte Deleted = 0xE5;
    public const int ReadOnly = 1, Hidden = 2, System = 4, VolumeLabel = 8, Folder = 16, Archive = 32, LongName = 15;
    private const int Attr = 11, NtRes = 12, CrtTimeTenth = 13, CrtTime = 14, CrtDate = 16, LstAccDate = 18, FstClusHi = 20, WrtTime = 22, WrtDate = 24, FstClusLo = 26, FileSize = 28;
    private const byte StandsForE5 = 0x05, BaseInLowerCase = 8, ExtensionInLowerCase = 16;
    private const string Forbidden = "\"*+,./:;<=>?[\\]|";

    public static int Attributes(ReadOnlySpan<byte> slot) => slot[Attr];

    public static bool IsLongName(ReadOnlySpan<byte> slot) => (slot[Attr] & 0x3F) == LongName;

    public static uint FirstCluster(ReadOnlySpan<byte> slot) =>
        BinaryPrimitives.ReadUInt16LittleEndian(slot[FstClusLo..]) | ((uint)BinaryPrimitives.ReadUInt16LittleEndian(slot[FstClusHi..]) << 16);

    /// <summary>Sum over the eleven letters of the short name, which its long name carries.</summary>
    public static byte Checksum(ReadOnlySpan<byte> name)
    {
        byte sum = 0;
        foreach (byte letter in name[..NameLength])
            sum = (byte)(((sum & 1) << 7) + (sum >> 1) + letter);
        return sum;
    }

    /// <summary>Reads an entry, live or deleted.</summary>
    /// <param name="slot">Its 32 bytes.</param>
    /// <param name="longName">The long name that stood before it, or null.</param>
    /// <param name="wide">Whether the upper half of the first cluster counts (FAT32).</param>
    public static Parsed<FoundEntry> Read(ReadOnlySpan<byte> slot, string? longName, bool wide)
    {
        if ((slot[Attr] & 0xC0) != 0)
            return new Parsed<FoundEntry>.Damaged(Attr, $"attributes {slot[Attr]:X2}");
        bool deleted = slot[0] == Deleted;
        if (FirstForbidden(slot[..NameLength], deleted) is { } at)
            return new Parsed<FoundEntry>.Damaged(at, $"{slot[at]:X2} in a short name");
        bool isFolder = (slot[Attr] & Folder) != 0;
        uint size = BinaryPrimitives.ReadUInt32LittleEndian(slot[FileSize..]);
        return new Parsed<FoundEntry>.Value(new FoundEntry
        {
            Name = longName ?? NameOf(slot, deleted),
            IsFolder = isFolder,
            Deleted = deleted,
            Attributes = Flags(slot[Attr]),
            Times = TimesOf(slot),
            FirstCluster = wide ? FirstCluster(slot) : FirstCluster(slot) & 0xFFFF,
            Size = isFolder ? 0 : size,
            Written = isFolder ? 0 : size,
        });
    }

    /// <summary>The short name as people write it; a deleted one has lost its first letter, '_' stands for it.</summary>
    public static string NameOf(ReadOnlySpan<byte> slot, bool deleted)
    {
        Span<byte> name = stackalloc byte[NameLength];
        slot[..NameLength].CopyTo(name);
        name[0] = deleted ? (byte)'_' : name[0] == StandsForE5 ? Deleted : name[0];
        string start = Part(name[..8], (slot[NtRes] & BaseInLowerCase) != 0);
        string extension = Part(name[8..], (slot[NtRes] & ExtensionInLowerCase) != 0);
        return extension.Length == 0 ? start : $"{start}.{extension}";
    }

    // Which code page the letters above 127 are from is not said on the disk; every letter stays one letter.
    private static string Part(ReadOnlySpan<byte> letters, bool lowerCase)
    {
        string text = Encoding.Latin1.GetString(letters).TrimEnd(' ');
        return lowerCase ? text.ToLowerInvariant() : text;
    }

    private static int? FirstForbidden(ReadOnlySpan<byte> name, bool deleted)
    {
        for (int i = deleted ? 1 : 0; i < NameLength; i++)
        {
            bool isStandIn = i == 0 && name[i] == StandsForE5;
            bool isBlankStart = i == 0 && name[i] == ' ';
            // Lower case is forbidden, too, but some drivers write it where they spell a letter out.
            if (!isStandIn && (name[i] < ' ' || isBlankStart || Forbidden.Contains((char)name[i])))
                return i;
        }

        return null;
    }

    private static EntryTimes TimesOf(ReadOnlySpan<byte> slot) => new(
        Modified: Time(slot, WrtDate, WrtTime, 0),
        Created: Time(slot, CrtDate, CrtTime, slot[CrtTimeTenth]),
        Accessed: DosTime.Read(BinaryPrimitives.ReadUInt16LittleEndian(slot[LstAccDate..]), 0, 0, TimeSpan.Zero));

    private static DateTimeOffset? Time(ReadOnlySpan<byte> slot, int date, int time, int hundredths) =>
        DosTime.Read(BinaryPrimitives.ReadUInt16LittleEndian(slot[date..]), BinaryPrimitives.ReadUInt16LittleEndian(slot[time..]), hundredths, TimeSpan.Zero);

    private static EntryAttributes Flags(int attributes) =>
        (EntryAttributes)(attributes & (ReadOnly | Hidden | System)) | ((attributes & Archive) == 0 ? EntryAttributes.None : EntryAttributes.Archive);
}
