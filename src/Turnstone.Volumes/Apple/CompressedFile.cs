using System.Buffers.Binary;

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
