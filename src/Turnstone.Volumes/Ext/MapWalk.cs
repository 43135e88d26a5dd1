using System.Buffers.Binary;

namespace Turnstone.Volumes.Ext;

/// <summary>One walk over one map, which tells a writer what it meets.</summary>
/// <param name="map">Where its blocks come from.</param>
/// <param name="writer">Takes the stretches.</param>
/// <param name="seed">Start of the sums of the tree's blocks.</param>
/// <param name="before">Only states before this transaction count; null for the present one.</param>
/// <param name="visited">Takes the blocks of the map itself.</param>
internal sealed class MapWalk(BlockMap map, MapWriter writer, uint seed, uint? before, List<long>? visited)
{
    private const int HeaderSize = 12, RecordSize = 12, TreeMagic = 0xF30A, DepthMax = 5, LengthMax = 32_768;
    private const int EntriesAt = 2, MaxAt = 4, DepthAt = 6, DirectPointers = 12, IndirectLevels = 3;

    public bool UsedJournal { get; private set; }

    private int BlockSize => map.Super.BlockSize;

    /// <summary>Adds what an extent tree says whose root lies in an inode.</summary>
    public void Root(ReadOnlyMemory<byte> root) => Node(new HeldBytes(root.ToArray(), []), null, writer.End, endIsKnown: true, isRoot: true);

    /// <summary>Adds what a node of an extent tree says, up to block <paramref name="end"/> of the file.</summary>
    /// <param name="node">Its bytes.</param>
    /// <param name="depth">Levels below it that its parent expects; null at the root.</param>
    /// <param name="end">Where the next node takes over.</param>
    /// <param name="endIsKnown">False where the next node's entry is not held: the rest is unknown then, not zero.</param>
    /// <param name="isRoot">Whether it lies in the inode, where it has no sum of its own.</param>
    private void Node(HeldBytes node, int? depth, long end, bool endIsKnown, bool isRoot)
    {
        if (!node.Holds(0, HeaderSize))
        {
            writer.UnknownTo(end);
            return;
        }

        int entries = U16(node, EntriesAt), max = U16(node, MaxAt), own = U16(node, DepthAt);
        if (U16(node, 0) != TreeMagic || entries > max || HeaderSize + (max * RecordSize) > node.Data.Length || own > DepthMax || own != (depth ?? own))
        {
            writer.Fault = "a block of its extent tree makes no sense";
            writer.UnknownTo(end);
            return;
        }

        if (!isRoot)
            CheckSum(node, HeaderSize + (max * RecordSize));
        if (own == 0)
            Leaf(node, entries, end, endIsKnown);
        else
            Index(node, entries, own, end, endIsKnown);
    }

    /// <summary>Adds what twelve direct and three indirect pointers say.</summary>
    public void Pointers(ReadOnlySpan<byte> root)
    {
        for (int i = 0; i < DirectPointers; i++)
            Pointer(BinaryPrimitives.ReadUInt32LittleEndian(root[(i * 4)..]), 0);
        for (int level = 1; level <= IndirectLevels; level++)
            Pointer(BinaryPrimitives.ReadUInt32LittleEndian(root[((DirectPointers + level - 1) * 4)..]), level);
    }

    private void Leaf(HeldBytes node, int entries, long end, bool endIsKnown)
    {
        bool gapIsKnown = true;
        for (int i = 0; i < entries; i++)
        {
            int at = HeaderSize + (i * RecordSize);
            if (!node.Holds(at, RecordSize))
            {
                gapIsKnown = false;
                continue;
            }

            long logical = U32(node, at), block = U32(node, at + 8) + ((long)U16(node, at + 6) << 32);
            int length = U16(node, at + 4);
            bool unwritten = length > LengthMax;
            length -= unwritten ? LengthMax : 0;
            if (IsPastEnd(logical, end))
                continue;
            if (logical < writer.At || length == 0)
            {
                writer.Fault = "its extents are out of order";
                continue;
            }

            Fill(logical, gapIsKnown);
            gapIsKnown = true;
            if (unwritten)
                writer.Zeros(length);
            else
                writer.Stored(block, length);
        }

        Fill(end, gapIsKnown && endIsKnown);
    }

    private void Index(HeldBytes node, int entries, int depth, long end, bool endIsKnown)
    {
        bool startIsKnown = true;
        for (int i = 0; i < entries; i++)
        {
            int at = HeaderSize + (i * RecordSize);
            if (!node.Holds(at, RecordSize))
            {
                startIsKnown = false;
                continue;
            }

            long logical = U32(node, at), child = U32(node, at + 4) + ((long)U16(node, at + 8) << 32);
            if (IsPastEnd(logical, end))
                continue;
            if (logical < writer.At)
            {
                writer.Fault = "its extent tree is out of order";
                continue;
            }

            Fill(logical, startIsKnown);
            startIsKnown = true;
            int next = i + 1;
            while (next < entries && !node.Holds(HeaderSize + (next * RecordSize), RecordSize))
                next++;
            long childEnd = next < entries ? Math.Clamp(U32(node, HeaderSize + (next * RecordSize)), writer.At, Math.Max(writer.At, end)) : end;
            Child(child, depth - 1, childEnd, next == i + 1 && (next < entries || endIsKnown));
        }

        Fill(end, startIsKnown && endIsKnown);
    }

    private void Child(long block, int depth, long end, bool endIsKnown)
    {
        if (Open(block) is { } node)
            Node(node, depth, end, endIsKnown, isRoot: false);
        else
            writer.UnknownTo(end);
    }

    /// <summary>Whether a place lies past what its node may speak of; past the file's size that is room kept for later, and no fault.</summary>
    private bool IsPastEnd(long logical, long end)
    {
        if (logical < end)
            return false;
        if (end < writer.End)
            writer.Fault = "its extent tree is out of order";
        return true;
    }

    private void Fill(long to, bool known)
    {
        if (known)
            writer.ZerosTo(to);
        else
            writer.UnknownTo(to);
    }

    private void Pointer(uint block, int level)
    {
        if (writer.At >= writer.End)
            return;
        int perBlock = BlockSize / sizeof(uint);
        long covers = (long)Math.Pow(perBlock, level);
        if (block == 0)
        {
            writer.Zeros(covers);
        }
        else if (level == 0)
        {
            writer.Stored(block, 1);
        }
        else if (Open(block) is not { } node)
        {
            writer.Unknown(covers);
        }
        else
        {
            for (int i = 0; i < perBlock && writer.At < writer.End; i++)
            {
                if (node.Holds(i * 4, 4))
                    Pointer(U32(node, i * 4), level - 1);
                else
                    writer.Unknown(covers / perBlock);
            }
        }
    }

    /// <summary>Reads a block of the map; null where nothing of it can be had.</summary>
    private HeldBytes? Open(long block)
    {
        if (!map.Claim(block))
        {
            writer.Fault = $"block {block} of its map lies outside the volume or belongs to another map";
            return null;
        }

        visited?.Add(block);
        HeldBytes home = map.Blocks.Read(block, 1);
        if (before is null && !home.IsNothing)
            return home;
        if (map.Older(block, before ?? uint.MaxValue) is not { } older)
            return home.IsNothing ? null : home;
        UsedJournal = true;
        return older;
    }

    private void CheckSum(HeldBytes node, int tail)
    {
        if (!map.Super.HasMetadataSums)
            return;
        if (!node.IsWhole)
            writer.IsUnconfirmed = true;
        else if (tail + 4 > node.Data.Length || ExtSums.Crc32C(seed, node.Data.AsSpan(0, tail)) != U32(node, tail))
            writer.Fault = "the checksum of a block of its extent tree does not fit";
    }

    private static int U16(HeldBytes node, int at) => BinaryPrimitives.ReadUInt16LittleEndian(node.Data.AsSpan(at));

    private static uint U32(HeldBytes node, int at) => BinaryPrimitives.ReadUInt32LittleEndian(node.Data.AsSpan(at));
}
