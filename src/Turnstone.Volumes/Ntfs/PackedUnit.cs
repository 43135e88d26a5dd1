using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>One packed unit of a compressed file, unpacked as far as what is held allows.</summary>
/// <remarks>
/// Chunks are found one after the other by their headers. A chunk with a hole in its body costs its own bytes;
/// a header that is not held costs the rest of the unit, as nothing else tells where the next chunk starts.
/// </remarks>
internal sealed class PackedUnit
{
    private readonly byte[] _bytes;
    private readonly byte[] _packed;
    private readonly List<ByteRange> _packedHoles = [];
    private readonly List<ByteRange> _holes = [];
    private readonly int _length;

    /// <summary>Unpacks the unit.</summary>
    /// <param name="disk">The whole source.</param>
    /// <param name="piece">The unit; its extents are at most <paramref name="unitBytes"/> long.</param>
    /// <param name="unitBytes">Bytes of a unit.</param>
    public PackedUnit(ISectorView disk, UnitPiece piece, int unitBytes)
    {
        _length = (int)piece.Length;
        _bytes = new byte[unitBytes];
        _packed = new byte[piece.Extents.Sum(extent => extent.Length)];
        var stored = new StoredContent(piece.Extents);
        if (!stored.TryRead(disk, 0, _packed))
            _packedHoles.AddRange(stored.Missing(disk));
        Unpack();
    }

    /// <summary>The unit's bytes of the file; zeros where they cannot be had.</summary>
    public ReadOnlySpan<byte> Bytes => _bytes.AsSpan(0, _length);

    /// <summary>Parts of the unit that cannot be had.</summary>
    public IReadOnlyList<ByteRange> Holes => _holes;

    private void Unpack()
    {
        int at = 0;
        for (int filled = 0; filled < _length; filled += Lznt1.ChunkBytes)
        {
            if (at + Lznt1.HeaderBytes > _packed.Length)
                return;
            if (HasHole(at, Lznt1.HeaderBytes))
            {
                Lose(filled, _length - filled);
                return;
            }

            Lznt1.Header header = Lznt1.Header.Read(_packed.AsSpan(at));
            if (header.Length == 0)
                return;
            at += Lznt1.HeaderBytes;
            if (!header.IsValid || header.Length > _packed.Length - at)
            {
                Lose(filled, _length - filled);
                return;
            }

            if (HasHole(at, header.Length) || !Fill(header, at, _bytes.AsSpan(filled, Math.Min(Lznt1.ChunkBytes, _bytes.Length - filled))))
                Lose(filled, Lznt1.ChunkBytes);
            at += header.Length;
        }
    }

    private bool Fill(Lznt1.Header header, int at, Span<byte> chunk)
    {
        ReadOnlySpan<byte> body = _packed.AsSpan(at, header.Length);
        if (header.IsPacked)
        {
            if (Lznt1.TryUnpack(body, chunk) >= 0)
                return true;
            chunk.Clear();
            return false;
        }

        if (body.Length > chunk.Length)
            return false;
        body.CopyTo(chunk);
        return true;
    }

    private bool HasHole(int offset, int length)
    {
        var asked = new ByteRange(offset, length);
        return _packedHoles.Exists(hole => !hole.Intersect(asked).IsEmpty);
    }

    private void Lose(int offset, int length)
    {
        length = Math.Min(length, _length - offset);
        if (_holes.Count > 0 && _holes[^1].End == offset)
            _holes[^1] = new ByteRange(_holes[^1].Offset, _holes[^1].Length + length);
        else
            _holes.Add(new ByteRange(offset, length));
    }
}
