using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Apple;

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
