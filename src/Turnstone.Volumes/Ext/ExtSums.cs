using System.Buffers.Binary;
using System.Numerics;

namespace Turnstone.Volumes.Ext;

/// <summary>The two checksums that ext4 keeps with its metadata.</summary>
/// <remarks>
/// Linux kernel 6.1 documentation, filesystems/ext4, 'Checksums': crc32c from all ones without the final inversion;
/// descriptors of volumes with 'gdt_csum' only keep a CRC-16 (polynomial 0x8005, reflected) from all ones.
/// </remarks>
internal static class ExtSums
{
    /// <summary>Start value of both sums.</summary>
    public const uint Start = 0xFFFF_FFFF;

    /// <summary>Goes on with a crc32c; the processor's own instruction where it has one.</summary>
    public static uint Crc32C(uint sum, ReadOnlySpan<byte> bytes)
    {
        for (; bytes.Length >= sizeof(ulong); bytes = bytes[sizeof(ulong)..])
            sum = BitOperations.Crc32C(sum, BinaryPrimitives.ReadUInt64LittleEndian(bytes));
        foreach (byte one in bytes)
            sum = BitOperations.Crc32C(sum, one);
        return sum;
    }

    /// <summary>Goes on with a crc32c over one little-endian number.</summary>
    public static uint Crc32C(uint sum, uint number) => BitOperations.Crc32C(sum, number);

    /// <summary>Goes on with a CRC-16.</summary>
    public static ushort Crc16(ushort sum, ReadOnlySpan<byte> bytes)
    {
        uint at = sum;
        foreach (byte one in bytes)
        {
            at ^= one;
            for (int bit = 0; bit < 8; bit++)
                at = (at >> 1) ^ ((at & 1) * 0xA001);
        }

        return (ushort)at;
    }
}
