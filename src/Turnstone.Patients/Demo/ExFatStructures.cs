using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Patients.Demo;

/// <summary>The fixed structures of an exFAT volume: boot region, up-case table, and the root folder's own entries.</summary>
/// <remarks>Microsoft, exFAT file system specification, sections 3, 7.1, 7.2 and 7.3.</remarks>
internal static class ExFatStructures
{
    private const int SectorBytes = 512, EntryBytes = 32;

    /// <summary>The twelve sectors that stand at the volume's start and once more behind themselves.</summary>
    public static byte[] BootRegion(long partitionSector, long sectors, int sectorsPerCluster, uint fatOffset, uint fatSectors, uint heapSector, uint clusters, uint root)
    {
        byte[] region = new byte[12 * SectorBytes];
        Span<byte> boot = region;
        ((ReadOnlySpan<byte>)[0xEB, 0x76, 0x90, .. "EXFAT   "u8]).CopyTo(boot);
        BinaryPrimitives.WriteInt64LittleEndian(boot[64..], partitionSector);
        BinaryPrimitives.WriteInt64LittleEndian(boot[72..], sectors);
        uint[] fields = [fatOffset, fatSectors, heapSector, clusters, root, 0x7A5E11ED];
        for (int i = 0; i < fields.Length; i++)
            BinaryPrimitives.WriteUInt32LittleEndian(boot[(80 + (i * 4))..], fields[i]);
        BinaryPrimitives.WriteUInt16LittleEndian(boot[104..], 0x0100);
        boot[108] = 9;
        boot[109] = (byte)int.Log2(sectorsPerCluster);
        boot[110] = 1;
        boot[111] = 0x80;
        boot[112] = 0xFF;
        for (int sector = 0; sector <= 8; sector++)
            BinaryPrimitives.WriteUInt16LittleEndian(boot[((sector * SectorBytes) + 510)..], 0xAA55);

        uint sum = BootChecksum(region.AsSpan(0, 11 * SectorBytes));
        for (int at = 11 * SectorBytes; at < region.Length; at += 4)
            BinaryPrimitives.WriteUInt32LittleEndian(region.AsSpan(at), sum);
        return region;
    }

    // Section 3.4: all bytes of the first eleven sectors but VolumeFlags and PercentInUse.
    private static uint BootChecksum(ReadOnlySpan<byte> sectors)
    {
        uint sum = 0;
        for (int i = 0; i < sectors.Length; i++)
            sum = i is 106 or 107 or 112 ? sum : uint.RotateRight(sum, 1) + sectors[i];
        return sum;
    }

    // The 128 entries that section 7.2.5.1 asks for; everything above stands for itself (FFFF, then how many).
    public static byte[] UpCaseTable()
    {
        byte[] table = new byte[130 * 2];
        for (int i = 0; i < 128; i++)
            BinaryPrimitives.WriteUInt16LittleEndian(table.AsSpan(i * 2), EntrySet.UpCase((char)i));
        BinaryPrimitives.WriteUInt16LittleEndian(table.AsSpan(256), 0xFFFF);
        BinaryPrimitives.WriteUInt16LittleEndian(table.AsSpan(258), 65_536 - 128);
        return table;
    }

    public static byte[] LabelEntry(string label)
    {
        byte[] entry = new byte[EntryBytes];
        entry[0] = 0x83;
        entry[1] = (byte)label.Length;
        Encoding.Unicode.GetBytes(label).CopyTo(entry, 2);
        return entry;
    }

    public static byte[] BitmapEntry(uint cluster, uint clusters)
    {
        byte[] entry = new byte[EntryBytes];
        entry[0] = 0x81;
        BinaryPrimitives.WriteUInt32LittleEndian(entry.AsSpan(20), cluster);
        BinaryPrimitives.WriteInt64LittleEndian(entry.AsSpan(24), (clusters + 7) / 8);
        return entry;
    }

    public static byte[] UpCaseEntry(uint cluster, byte[] table)
    {
        uint sum = 0;
        foreach (byte b in table)
            sum = uint.RotateRight(sum, 1) + b;
        byte[] entry = new byte[EntryBytes];
        entry[0] = 0x82;
        BinaryPrimitives.WriteUInt32LittleEndian(entry.AsSpan(4), sum);
        BinaryPrimitives.WriteUInt32LittleEndian(entry.AsSpan(20), cluster);
        BinaryPrimitives.WriteInt64LittleEndian(entry.AsSpan(24), table.Length);
        return entry;
    }
}
