using System.IO.Compression;

namespace Turnstone.Volumes.Apple;

/// <summary>One piece of a compressed file: a zlib stream, or plain bytes behind a byte that no zlib stream begins with.</summary>
internal static class ZlibPiece
{
    /// <summary>Bytes of the file in every piece but the last.</summary>
    public const int Longest = 64 << 10;

    /// <summary>Deflate packs 258 bytes into two bits at best (RFC 1951, 3.2.5), so one byte stands for 1,032.</summary>
    public const int MostFromOneByte = 1032;

    /// <summary>Fills the span with exactly the piece's bytes; answers false where they are too few or damaged.</summary>
    public static bool TryUnpack(ReadOnlySpan<byte> packed, Span<byte> into)
    {
        if (into.IsEmpty)
            return true;
        if (packed.IsEmpty)
            return false;
        return (packed[0] & 0xF) == 0xF ? TryCopy(packed[1..], into) : TryInflate(packed, into);
    }

    private static bool TryCopy(ReadOnlySpan<byte> plain, Span<byte> into)
    {
        if (plain.Length < into.Length)
            return false;
        plain[..into.Length].CopyTo(into);
        return true;
    }

    private static bool TryInflate(ReadOnlySpan<byte> packed, Span<byte> into)
    {
        using var stream = new ZLibStream(new MemoryStream(packed.ToArray(), writable: false), CompressionMode.Decompress);
        try
        {
            return stream.ReadAtLeast(into, into.Length, throwOnEndOfStream: false) == into.Length && stream.ReadByte() < 0;
        }
        catch (InvalidDataException)
        {
            return false;
        }
    }
}
