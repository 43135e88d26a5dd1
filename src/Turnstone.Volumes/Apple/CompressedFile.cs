using System.Buffers.Binary;
using System.IO.Compression;
using Turnstone.Media;

namespace Turnstone.Volumes.Apple;

/// <summary>Files that the file system compressed behind the user's back: a header in an attribute says how.</summary>
/// <remarks>
/// The same on HFS+ and APFS. Layout from memory of Apple's published kernel source, decmpfs.h: magic 'cmpf', a kind,
/// the file's size, all little-endian; the packed bytes follow in the attribute, or lie in the resource fork in pieces of 64 KiB.
/// </remarks>
internal static class CompressedFile
{
    private const int Magic = 0;
    private const int KindAt = 4;
    private const int SizeAt = 8;
    private const int HeaderLength = 16;

    private enum Kind : uint
    {
        Plain = 1,
        Zlib = 3,
        ZlibInFork = 4,
        Lzvn = 7,
        LzvnInFork = 8,
        Lzfse = 11,
        LzfseInFork = 12,
    }

    /// <summary>
    /// The file's bytes; unreadable with its reason where the kind is not decoded here or the parts don't fit;
    /// null where the header makes no sense, so that not even the size is known.
    /// </summary>
    /// <param name="attribute">The compression attribute.</param>
    /// <param name="resourceFork">The file's resource fork, or null where it has none.</param>
    public static FileContent? Open(ReadOnlyMemory<byte> attribute, FileContent? resourceFork)
    {
        ReadOnlySpan<byte> head = attribute.Span;
        if (head.Length < HeaderLength || !head.Slice(Magic, 4).SequenceEqual("fpmc"u8))
            return null;
        ulong size = BinaryPrimitives.ReadUInt64LittleEndian(head[SizeAt..]);
        var kind = (Kind)BinaryPrimitives.ReadUInt32LittleEndian(head[KindAt..]);
        return size > long.MaxValue ? null : Open(kind, (long)size, attribute[HeaderLength..], resourceFork);
    }

    private static FileContent Open(Kind kind, long size, ReadOnlyMemory<byte> packed, FileContent? fork) => kind switch
    {
        Kind.Plain => packed.Length >= size ? new ResidentContent(packed[..(int)size].ToArray()) : Cut(size),
        Kind.Zlib => Inside(size, packed),
        Kind.ZlibInFork => fork is null ? new UnreadableContent(size, "compressed, and its resource fork is not held") : new ZlibForkContent(size, fork),
        Kind.Lzvn or Kind.LzvnInFork => NotDecoded(size, "LZVN", fork),
        Kind.Lzfse or Kind.LzfseInFork => NotDecoded(size, "LZFSE", fork),
        _ => NotDecoded(size, $"kind {(uint)kind}", fork),
    };

    private static UnreadableContent Cut(long size) => new(size, "its compressed bytes end too early");

    private static UnreadableContent NotDecoded(long size, string how, FileContent? fork) =>
        new(size, $"compressed in a way that is not decoded here ({how})", fork?.Extents);

    private static FileContent Inside(long size, ReadOnlyMemory<byte> packed)
    {
        // Memory is asked for by what is there: no packed byte gives more than that.
        if (size > (long)packed.Length * ZlibPiece.MostFromOneByte)
            return new UnreadableContent(size, "the size in its compression header makes no sense");
        var file = new byte[size];
        return ZlibPiece.TryUnpack(packed.Span, file) ? new ResidentContent(file) : new UnreadableContent(size, "its compressed bytes are damaged");
    }
}

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

/// <summary>A file whose zlib pieces lie in its resource fork, behind a table of their places.</summary>
/// <param name="size">Bytes of the file.</param>
/// <param name="fork">The resource fork.</param>
internal sealed class ZlibForkContent(long size, FileContent fork) : FileContent
{
    private const int Table = 0x104;
    private const int FirstEntry = 0x108;
    private const int EntryLength = 8;

    /// <summary>A piece that would not shrink is stored plainly, one byte longer; zlib itself adds a little more at most.</summary>
    private const int LongestPacked = ZlibPiece.Longest + 1024;

    /// <inheritdoc/>
    public override long Length => size;

    /// <summary>Where the packed bytes lie.</summary>
    public override IReadOnlyList<Extent>? Extents => fork.Extents;

    private long Pieces => (size / ZlibPiece.Longest) + (size % ZlibPiece.Longest == 0 ? 0 : 1);

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk)
    {
        ByteRange last = default;
        foreach (ByteRange lost in Lost(disk))
        {
            if (!last.IsEmpty && last.End != lost.Offset)
                yield return last;
            last = !last.IsEmpty && last.End == lost.Offset ? ByteRange.Between(last.Offset, lost.End) : lost;
        }

        if (!last.IsEmpty)
            yield return last;
    }

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bool whole = true;
        while (!into.IsEmpty)
        {
            long piece = offset / ZlibPiece.Longest;
            byte[]? bytes = Piece(disk, piece);
            int skip = (int)(offset % ZlibPiece.Longest), length = Math.Min(into.Length, PieceLength(piece) - skip);
            if (bytes is null)
                into[..length].Clear();
            else
                bytes.AsSpan(skip, length).CopyTo(into);
            whole &= bytes is not null;
            offset += length;
            into = into[length..];
        }

        return whole;
    }

    /// <summary>Pieces that cannot be had. Held bytes bound the work, not the numbers that a header claims.</summary>
    private IEnumerable<ByteRange> Lost(ISectorView disk)
    {
        long budget = (HeldBytes(disk) / EntryLength) + 1, piece = 0;
        foreach (ByteRange hole in fork.Missing(disk).Append(new ByteRange(fork.Length, 0)))
        {
            for (long readable = EntriesBefore(hole.Offset); piece < readable && budget > 0; piece++, budget--)
            {
                if (Piece(disk, piece) is null)
                    yield return new ByteRange(piece * ZlibPiece.Longest, PieceLength(piece));
            }

            long behind = budget > 0 ? EntriesBefore(hole.End + EntryLength - 1) : Pieces;
            if (piece < behind)
                yield return ByteRange.Between(piece * ZlibPiece.Longest, Math.Min(size, behind * ZlibPiece.Longest));
            piece = Math.Max(piece, behind);
        }

        if (piece < Pieces)
            yield return ByteRange.Between(piece * ZlibPiece.Longest, size);
    }

    /// <summary>Pieces whose table entries end at or before that offset of the fork.</summary>
    private long EntriesBefore(long offset) => Math.Clamp((offset - FirstEntry) / EntryLength, 0, Pieces);

    private long HeldBytes(ISectorView disk)
    {
        long zeros = fork.Extents?.Where(e => e.Kind == ExtentKind.Zeros).Sum(e => e.Length) ?? 0;
        return Math.Max(0, fork.Length - zeros - fork.Missing(disk).Sum(hole => hole.Length));
    }

    private int PieceLength(long piece) => (int)Math.Min(ZlibPiece.Longest, size - (piece * ZlibPiece.Longest));

    private byte[]? Piece(ISectorView disk, long piece)
    {
        Span<byte> entry = stackalloc byte[EntryLength];
        long at = FirstEntry + (piece * EntryLength);
        if (at > fork.Length - EntryLength || !fork.TryRead(disk, at, entry))
            return null;
        long start = Table + (long)BinaryPrimitives.ReadUInt32LittleEndian(entry);
        uint length = BinaryPrimitives.ReadUInt32LittleEndian(entry[4..]);
        if (length > LongestPacked || start > fork.Length - length)
            return null;
        var packed = new byte[length];
        var bytes = new byte[PieceLength(piece)];
        return fork.TryRead(disk, start, packed) && ZlibPiece.TryUnpack(packed, bytes) ? bytes : null;
    }
}
