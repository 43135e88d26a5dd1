using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Patients.Demo;

/// <summary>The directory entries of one file or folder: file, stream extension, and its name in pieces of fifteen.</summary>
/// <remarks>Microsoft, exFAT file system specification, sections 6.3 and 7.4 to 7.7.</remarks>
internal static class EntrySet
{
    private const int EntryBytes = 32, NamePerEntry = 15;

    public static byte[] Of(string name, bool isFolder, uint cluster, long length, bool hasChain, DateTime modified)
    {
        int nameEntries = (name.Length + NamePerEntry - 1) / NamePerEntry;
        byte[] set = new byte[(2 + nameEntries) * EntryBytes];
        set[0] = 0x85;
        set[1] = (byte)(1 + nameEntries);
        set[4] = (byte)(isFolder ? 0x10 : 0x20);
        foreach (int at in (int[])[8, 12, 16])
            BinaryPrimitives.WriteUInt32LittleEndian(set.AsSpan(at), Stamp(modified));
        set[22] = set[23] = set[24] = 0x80;
        Stream(set.AsSpan(EntryBytes), name, cluster, length, hasChain);
        for (int i = 0; i < nameEntries; i++)
        {
            Span<byte> entry = set.AsSpan((2 + i) * EntryBytes, EntryBytes);
            entry[0] = 0xC1;
            Encoding.Unicode.GetBytes(name.AsSpan(i * NamePerEntry, Math.Min(NamePerEntry, name.Length - (i * NamePerEntry))), entry[2..]);
        }

        BinaryPrimitives.WriteUInt16LittleEndian(set.AsSpan(2), Checksum(set));
        return set;
    }

    public static char UpCase(char c) => c is >= 'a' and <= 'z' ? (char)(c - 32) : c;

    private static void Stream(Span<byte> entry, string name, uint cluster, long length, bool hasChain)
    {
        entry[0] = 0xC0;
        entry[1] = (byte)(cluster == 0 ? 0 : hasChain ? 1 : 3);
        entry[3] = (byte)name.Length;
        BinaryPrimitives.WriteUInt16LittleEndian(entry[4..], NameHash(name));
        BinaryPrimitives.WriteInt64LittleEndian(entry[8..], length);
        BinaryPrimitives.WriteUInt32LittleEndian(entry[20..], cluster);
        BinaryPrimitives.WriteInt64LittleEndian(entry[24..], length);
    }

    private static uint Stamp(DateTime t) =>
        (uint)((t.Second / 2) | (t.Minute << 5) | (t.Hour << 11) | (t.Day << 16) | (t.Month << 21) | ((t.Year - 1980) << 25));

    private static ushort NameHash(string name)
    {
        ushort hash = 0;
        foreach (byte b in Encoding.Unicode.GetBytes([.. name.Select(UpCase)]))
            hash = (ushort)(ushort.RotateRight(hash, 1) + b);
        return hash;
    }

    private static ushort Checksum(ReadOnlySpan<byte> set)
    {
        ushort sum = 0;
        for (int i = 0; i < set.Length; i++)
            sum = i is 2 or 3 ? sum : (ushort)(ushort.RotateRight(sum, 1) + set[i]);
        return sum;
    }
}
