using System.IO.Compression;
using Turnstone.Media;

namespace Turnstone.Volumes.Apple;

/// <summary>A small file compressed with zlib inside its attribute.</summary>
internal sealed class InflatedInline(long length, ReadOnlyMemory<byte> stored) : FileContent
{
    public override long Length => length;

    public override IReadOnlyList<Extent>? Extents => null;

    /// <summary>The most bytes that so many stored ones can stand for: deflate makes at most 1032 of one.</summary>
    public static ulong LengthMax(int storedBytes) => 1032UL * (ulong)storedBytes;

    public override IEnumerable<ByteRange> Missing(ISectorView disk) =>
        length == 0 || Zlib.TryInflate(stored, length, 0, []) ? [] : [new ByteRange(0, length)];

    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        if (Zlib.TryInflate(stored, length, offset, into))
            return true;
        into.Clear();
        return into.IsEmpty;
    }
}

/// <summary>One block as the file system stores it: zlib, or plain behind a byte whose low half is F.</summary>
internal static class Zlib
{
    /// <summary>Inflates a part; false where the bytes are no such block, or one of another length.</summary>
    public static bool TryInflate(ReadOnlyMemory<byte> stored, long length, long offset, Span<byte> into)
    {
        if (stored.IsEmpty)
            return false;
        if ((stored.Span[0] & 0x0F) == 0x0F)
            return TryCopy(stored.Span[1..], length, offset, into);
        try
        {
            using var stream = new ZLibStream(new MemoryStream(stored.ToArray()), CompressionMode.Decompress);
            return Skip(stream, offset) && stream.ReadAtLeast(into, into.Length, throwOnEndOfStream: false) == into.Length
                && Skip(stream, length - offset - into.Length) && stream.ReadByte() < 0;
        }
        catch (InvalidDataException)
        {
            return false;
        }
    }

    private static bool TryCopy(ReadOnlySpan<byte> plain, long length, long offset, Span<byte> into)
    {
        if (plain.Length != length || offset > plain.Length - into.Length)
            return false;
        plain.Slice((int)offset, into.Length).CopyTo(into);
        return true;
    }

    private static bool Skip(ZLibStream stream, long bytes)
    {
        Span<byte> drop = stackalloc byte[4096];
        while (bytes > 0)
        {
            int got = stream.Read(drop[..(int)Math.Min(bytes, drop.Length)]);
            if (got == 0)
                return false;
            bytes -= got;
        }

        return true;
    }
}
