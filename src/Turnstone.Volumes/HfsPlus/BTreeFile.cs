using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The header record of a B-tree.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "B-Tree Header Record" (from memory).</remarks>
internal sealed record BTreeHeader(int Depth, uint Root, uint FirstLeaf, int NodeBytes, int MaxKeyLength, uint Nodes, bool HasVariableIndexKeys)
{
    public const int Length = 106;

    private const int Start = BTreeNode.DescriptorLength, RootAt = Start + 2, FirstLeafAt = Start + 10, NodeAt = Start + 18,
        MaxKeyAt = Start + 20, NodesAt = Start + 22, AttributesAt = Start + 38;

    private const uint VariableIndexKeysBit = 4;

    /// <summary>Reads the first bytes of a B-tree file, the node descriptor included.</summary>
    public static Parsed<BTreeHeader> Read(ReadOnlySpan<byte> file)
    {
        if (file[8] != (byte)NodeKind.Header)
            return new Parsed<BTreeHeader>.Damaged(8, $"node kind {file[8]} where the header node belongs");
        int size = file.U16(NodeAt);
        if (!System.Numerics.BitOperations.IsPow2(size) || size < 512)
            return new Parsed<BTreeHeader>.Damaged(NodeAt, $"node size {size}");
        return new Parsed<BTreeHeader>.Value(new BTreeHeader(file.U16(Start), file.U32(RootAt), file.U32(FirstLeafAt), size,
            file.U16(MaxKeyAt), file.U32(NodesAt), (file.U32(AttributesAt) & VariableIndexKeysBit) != 0));
    }
}

/// <summary>A special file that is a B-tree, node by node.</summary>
internal sealed class BTreeFile
{
    private static readonly int[] Sizes = [4096, 8192, 512, 1024, 2048, 16384, 32768];
    private readonly ForkMap _map;
    private readonly RecordLength _lengthOf;

    public BTreeFile(ForkMap map, RecordLength lengthOf)
    {
        (_map, _lengthOf) = (map, lengthOf);
        Span<byte> head = stackalloc byte[512];
        Header = map.Length >= head.Length && map.Read(0, head).Has(0, BTreeHeader.Length) ? BTreeHeader.Read(head).OrNone : null;
        NodeBytes = Header?.NodeBytes ?? LikelySize();
        NodeCount = (uint)Math.Min(map.Length / NodeBytes, uint.MaxValue);
    }

    public ForkMap Map => _map;

    /// <summary>Null where it is not held or damaged.</summary>
    public BTreeHeader? Header { get; }

    /// <summary>Bytes of a node; where the header does not tell, the size at which most nodes make sense.</summary>
    public int NodeBytes { get; }

    public uint NodeCount { get; }

    /// <summary>Whether every node that the tree speaks of has its place: an old copy of the volume header may know too few.</summary>
    public bool HasAllNodes => _map.IsComplete && (Header is null || Header.Nodes <= NodeCount);

    public BTreeNode Read(uint number) => Read(number, NodeBytes);

    /// <summary>Numbers of the nodes of which something is held, in order, then of those that the journal keeps: these may have been named before.</summary>
    public IEnumerable<uint> HeldNodes() => HeldNodes(NodeBytes).Concat(JournalNodes());

    private IEnumerable<uint> HeldNodes(int size)
    {
        long next = 0;
        foreach (ByteRange held in _map.HeldStretches())
        {
            for (next = Math.Max(next, held.Offset / size); next * size < held.End && (next + 1) * size <= _map.Length; next++)
                yield return (uint)next;
        }
    }

    private IEnumerable<uint> JournalNodes()
    {
        if (_map.Metadata.Journal is not { } journal)
            yield break;
        foreach (long sector in journal.Sectors())
        {
            if (_map.FileOffsetOf(sector) is { } at && at / NodeBytes < NodeCount)
                yield return (uint)(at / NodeBytes);
        }
    }

    private BTreeNode Read(uint number, int size)
    {
        byte[] bytes = new byte[size];
        Held held = _map.Read((long)number * size, bytes);
        return new BTreeNode(number, bytes, held, _lengthOf);
    }

    private int LikelySize()
    {
        const int sample = 256;
        return Sizes.MaxBy(size => size * HeldNodes(size).Take(sample).Count(n => Read(n, size) is { IsSound: true, Count: > 0 } node && (node.IsLeaf || node.IsIndex)));
    }
}
