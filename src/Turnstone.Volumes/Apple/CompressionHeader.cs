using System.Buffers.Binary;

namespace Turnstone.Volumes.Apple;

/// <summary>How a file is compressed and how long it is; the same on HFS+ and APFS.</summary>
/// <remarks>
/// The attribute 'com.apple.decmpfs' as Apple's own kernel sources lay it out (from memory): magic, kind, size, data.
/// An odd kind has its data behind this header, the even one after it in the resource fork.
/// </remarks>
internal sealed record CompressionHeader(uint Kind, ulong Size, ReadOnlyMemory<byte> Data)
{
    private const int Length = 16, MagicAt = 0, KindAt = 4, SizeAt = 8;
    private const uint Magic = 0x636D7066;

    public const uint Plain = 1, ZlibInline = 3, ZlibInFork = 4;

    public static Parsed<CompressionHeader> Read(ReadOnlyMemory<byte> attribute)
    {
        ReadOnlySpan<byte> span = attribute.Span;
        if (span.Length < Length)
            return new Parsed<CompressionHeader>.Damaged(span.Length, "compression attribute cut short");
        if (BinaryPrimitives.ReadUInt32LittleEndian(span[MagicAt..]) != Magic)
            return new Parsed<CompressionHeader>.Damaged(MagicAt, "compression attribute without its magic");
        ulong size = BinaryPrimitives.ReadUInt64LittleEndian(span[SizeAt..]);
        return size > long.MaxValue / 2
            ? new Parsed<CompressionHeader>.Damaged(SizeAt, $"compressed file of {size} bytes")
            : new Parsed<CompressionHeader>.Value(new CompressionHeader(BinaryPrimitives.ReadUInt32LittleEndian(span[KindAt..]), size, attribute[Length..]));
    }

    /// <summary>The file, given the fork in which its blocks lie; null where it has none.</summary>
    public FileContent Content(FileContent? resourceFork)
    {
        if (Kind == Plain && Size <= (ulong)Data.Length)
            return new ResidentContent(Data[..(int)Size]);
        if (Kind == ZlibInline && Size <= InflatedInline.LengthMax(Data.Length))
            return new InflatedInline((long)Size, Data);
        if (Kind == ZlibInFork && resourceFork is not null && Size <= InflatedFork.LengthMax(resourceFork.Length))
            return new InflatedFork((long)Size, resourceFork);
        string why = Kind is Plain or ZlibInline or ZlibInFork
            ? $"its {Size} bytes cannot come from what is stored"
            : $"compressed in a way that is not decoded here (kind {Kind})";
        return new UnreadableContent((long)Size, why, resourceFork?.Extents);
    }
}
