using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Catalog leaves anywhere on the volume, for when a part of the catalog has no known place.</summary>
internal static class LooseNodes
{
    public static IEnumerable<BTreeNode> In(VolumeReading reading)
    {
        int bytes = reading.Catalog.NodeBytes, step = Math.Min(bytes, reading.Header.Shape.BlockBytes);
        ISectorView volume = reading.Metadata.Volume;
        var whole = new ByteRange(0, reading.Header.Shape.Bytes);
        foreach (ByteRange held in Held.Between(volume.Missing(whole), whole))
        {
            for (long at = (held.Offset + step - 1) / step * step; at + bytes <= held.End; at += step)
            {
                if (LooksLikeLeaf(volume, at) && !IsKnown(reading, at) && ReadAt(volume, at, bytes) is { IsSound: true } node && IsInOrder(node))
                    yield return node;
            }
        }
    }

    private static bool LooksLikeLeaf(ISectorView volume, long at)
    {
        Span<byte> head = stackalloc byte[BTreeNode.DescriptorLength];
        // kind -1, height 1, some records, two bytes that are always zero
        return volume.TryRead(at, head) && head[8] == 0xFF && head[9] == 1 && (head[10] | head[11]) != 0 && (head[12] | head[13]) == 0;
    }

    private static bool IsKnown(VolumeReading reading, long at) =>
        reading.CatalogMap.FileOffsetOf(at) is not null || reading.Metadata.Journal is { } journal && journal.Place.Contains(new ByteRange(at, 1));

    private static BTreeNode? ReadAt(ISectorView volume, long at, int length)
    {
        byte[] bytes = new byte[length];
        return volume.TryRead(at, bytes) ? new BTreeNode(0, bytes, Held.Whole, CatalogRecord.LengthOf) : null;
    }

    private static bool IsInOrder(BTreeNode node)
    {
        uint last = 0;
        for (int i = 0; i < node.Found; i++)
        {
            uint parent = CatalogRecord.Of(node.Record(i)).Parent;
            if (parent < last)
                return false;
            last = parent;
        }

        return true;
    }
}
