using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The small plain HFS volume that older Macs put around an HFS+ volume: its master directory block says where the inner one lies.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "HFS Wrapper" (from memory).</remarks>
internal static class HfsWrapper
{
    private const ushort Signature = 0x4244, EmbeddedSignature = 0x482B;
    private const int BlockSize = 20, FirstBlock = 28, Embedded = 124, EmbeddedStart = 126, EmbeddedCount = 128;

    /// <summary>Where the inner volume lies in the part; null where there is no wrapper.</summary>
    public static ByteRange? Inner(ISectorView part) =>
        At(part, VolumeHeader.At) ?? At(part, part.Length - VolumeHeader.At);

    public static Parsed<ByteRange> Read(ReadOnlySpan<byte> block)
    {
        if (block.U16(0) != Signature || block.U16(Embedded) != EmbeddedSignature)
            return new Parsed<ByteRange>.Damaged(0, $"signatures {block.U16(0):X4} and {block.U16(Embedded):X4}");
        long size = block.U32(BlockSize);
        if (size == 0 || size % 512 != 0 || block.U16(EmbeddedCount) == 0)
            return new Parsed<ByteRange>.Damaged(BlockSize, $"block size {size}, {block.U16(EmbeddedCount)} blocks inside");
        long start = (512L * block.U16(FirstBlock)) + (size * block.U16(EmbeddedStart));
        return new Parsed<ByteRange>.Value(new ByteRange(start, size * block.U16(EmbeddedCount)));
    }

    private static ByteRange? At(ISectorView part, long offset)
    {
        Span<byte> block = stackalloc byte[VolumeHeader.Length];
        if (!part.TryRead(offset, block))
            return null;
        // An inner volume at the wrapper's own start, or past its end, would be no inner volume.
        return Read(block) is Parsed<ByteRange>.Value found && found.Item.Offset > 0 && found.Item.Offset < part.Length ? found.Item : null;
    }
}
