using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Which 512-byte strides of a record or index block may be believed: held, and not torn.</summary>
internal readonly record struct Strides
{
    /// <summary>Bytes of a stride, whatever the sector size.</summary>
    public const int Bytes = 512;

    private readonly UInt128 _bad;

    private Strides(UInt128 bad) => _bad = bad;

    /// <summary>Every stride is good.</summary>
    public static Strides AllGood => default;

    /// <summary>Whether every stride is good.</summary>
    public bool AreAllGood => _bad == UInt128.Zero;

    /// <summary>The same with one stride not to be believed.</summary>
    public Strides Without(int stride) => new(_bad | (UInt128.One << stride));

    /// <summary>The same without the strides that the bytes touch.</summary>
    public Strides Without(int offset, int length)
    {
        Strides left = this;
        for (int stride = offset / Bytes; stride * Bytes < offset + length; stride++)
            left = left.Without(stride);
        return left;
    }

    /// <summary>Whether all of these bytes are good.</summary>
    public bool Cover(int offset, int length) => AreAllGood || GoodPrefix(offset, length) == length;

    /// <summary>How many of these bytes are good before the first that is not.</summary>
    public int GoodPrefix(int offset, int length)
    {
        for (int stride = offset / Bytes; stride * Bytes < offset + length; stride++)
        {
            if (IsBad(stride))
                return Math.Max(0, (stride * Bytes) - offset);
        }

        return length;
    }

    /// <summary>The parts of these bytes that are not good, counted from <paramref name="offset"/>.</summary>
    public IReadOnlyList<ByteRange> Holes(int offset, int length)
    {
        var holes = new List<ByteRange>();
        for (int stride = offset / Bytes; stride * Bytes < offset + length; stride++)
        {
            if (!IsBad(stride))
                continue;
            int from = Math.Max(offset, stride * Bytes), to = Math.Min(offset + length, (stride + 1) * Bytes);
            if (holes.Count > 0 && holes[^1].End == from - offset)
                holes[^1] = ByteRange.Between(holes[^1].Offset, to - offset);
            else
                holes.Add(ByteRange.Between(from - offset, to - offset));
        }

        return holes;
    }

    /// <summary>Copies bytes and tells which strides of them are held.</summary>
    /// <param name="content">What holds the structure.</param>
    /// <param name="view">Where the content's places lie.</param>
    /// <param name="offset">First byte of the content.</param>
    /// <param name="into">Where they go; zeros where they are not held.</param>
    public static Strides Read(StoredContent content, ISectorView view, long offset, Span<byte> into)
    {
        if (content.TryRead(view, offset, into))
            return AllGood;
        Strides held = AllGood;
        for (int at = 0; at < into.Length; at += Bytes)
        {
            if (!content.TryRead(view, offset + at, into.Slice(at, Math.Min(Bytes, into.Length - at))))
                held = held.Without(at / Bytes);
        }

        return held;
    }

    private bool IsBad(int stride) => (_bad >> stride & UInt128.One) != UInt128.Zero;
}

/// <summary>Protection of records and index blocks against torn writes: the last word of each stride is swapped for a check value.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct NTFS_RECORD_HEADER.</remarks>
internal static class MultiSector
{
    private const int ArrayOffset = 4, ArrayWords = 6, ArrayOffsetMin = 0x28;

    // By far the most common answer, a million times a listing.
    private static readonly Parsed<Strides>.Value AllGood = new(Strides.AllGood);

    /// <summary>Puts the swapped words back and tells which strides are good. A torn stride costs its own bytes only, unless it is the first.</summary>
    /// <param name="block">The whole structure; its words are put back in place.</param>
    /// <param name="magic">Its first four bytes.</param>
    /// <param name="held">Which strides are held.</param>
    public static Parsed<Strides> Restore(Span<byte> block, ReadOnlySpan<byte> magic, Strides held)
    {
        if (block.Length < Strides.Bytes || block.Length % Strides.Bytes != 0)
            return new Parsed<Strides>.Damaged(block.Length, "cut short");
        if (!held.Cover(0, Strides.Bytes))
            return new Parsed<Strides>.NotHeld();
        if (!block.StartsWith(magic))
            return new Parsed<Strides>.Damaged(0, "another signature");
        int array = BinaryPrimitives.ReadUInt16LittleEndian(block[ArrayOffset..]), words = BinaryPrimitives.ReadUInt16LittleEndian(block[ArrayWords..]);
        int strides = block.Length / Strides.Bytes;
        if (words != strides + 1 || array < ArrayOffsetMin || array % 2 != 0 || array + (2 * words) > Strides.Bytes - 2)
            return new Parsed<Strides>.Damaged(ArrayOffset, $"update array of {words} words at {array}");
        return PutBack(block, block.Slice(array, 2 * words), held);
    }

    private static Parsed<Strides> PutBack(Span<byte> block, ReadOnlySpan<byte> array, Strides good)
    {
        for (int k = 0; k < (array.Length / 2) - 1; k++)
        {
            Span<byte> end = block.Slice((k * Strides.Bytes) + Strides.Bytes - 2, 2);
            if (end.SequenceEqual(array[..2]))
                array.Slice(2 * (k + 1), 2).CopyTo(end);
            else if (k == 0)
                return new Parsed<Strides>.Damaged(Strides.Bytes - 2, "the first stride does not end with the check value");
            else
                good = good.Without(k);
        }

        return good.AreAllGood ? AllGood : new Parsed<Strides>.Value(good);
    }
}
