using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>The packing of NTFS compression: chunks of 4,096 bytes, each unpacked on its own.</summary>
/// <remarks>Microsoft, [MS-XCA] Xpress Compression Algorithm, 2.5 LZNT1 (from memory).</remarks>
internal static class Lznt1
{
    /// <summary>Bytes that one chunk unpacks to, at most.</summary>
    public const int ChunkBytes = 4096;

    /// <summary>Bytes of the header before each chunk.</summary>
    public const int HeaderBytes = 2;

    private const int LengthMin = 3;

    /// <summary>What a chunk's header says.</summary>
    /// <param name="Length">Bytes of the chunk after its header; 0 ends the row of chunks.</param>
    /// <param name="IsPacked">Whether it must be unpacked; else its bytes are the file's.</param>
    /// <param name="IsValid">Whether the fixed bits are right.</param>
    public readonly record struct Header(int Length, bool IsPacked, bool IsValid)
    {
        public static Header Read(ReadOnlySpan<byte> bytes)
        {
            int word = BinaryPrimitives.ReadUInt16LittleEndian(bytes);
            return word == 0 ? new Header(0, IsPacked: false, IsValid: true) : new Header((word & 0xFFF) + 1, (word & 0x8000) != 0, (word >> 12 & 7) == 3);
        }
    }

    /// <summary>Unpacks the body of one packed chunk; what it does not fill stays zero.</summary>
    /// <param name="packed">The body without its header.</param>
    /// <param name="into">Zeroed room for the chunk, up to <see cref="ChunkBytes"/>.</param>
    /// <returns>Bytes unpacked, or -1 where the body contradicts itself.</returns>
    public static int TryUnpack(ReadOnlySpan<byte> packed, Span<byte> into)
    {
        int filled = 0;
        for (int at = 0; at < packed.Length;)
        {
            int flags = packed[at++];
            for (int bit = 0; bit < 8 && at < packed.Length; bit++, flags >>= 1)
            {
                bool good = (flags & 1) == 0 ? Literal(packed, ref at, into, ref filled) : Phrase(packed, ref at, into, ref filled);
                if (!good)
                    return -1;
            }
        }

        return filled;
    }

    private static bool Literal(ReadOnlySpan<byte> packed, ref int at, Span<byte> into, ref int filled)
    {
        if (filled >= into.Length)
            return false;
        into[filled++] = packed[at++];
        return true;
    }

    // The farther into the chunk, the more bits go to the distance and the fewer to the length.
    private static bool Phrase(ReadOnlySpan<byte> packed, ref int at, Span<byte> into, ref int filled)
    {
        if (packed.Length - at < 2 || filled == 0)
            return false;
        int word = BinaryPrimitives.ReadUInt16LittleEndian(packed[at..]), distanceBits = 4;
        at += 2;
        while (filled - 1 >> distanceBits != 0)
            distanceBits++;
        int lengthBits = 16 - distanceBits, length = (word & ((1 << lengthBits) - 1)) + LengthMin, distance = (word >> lengthBits) + 1;
        if (distance > filled || length > into.Length - filled)
            return false;
        for (int i = 0; i < length; i++, filled++)
            into[filled] = into[filled - distance];
        return true;
    }
}
