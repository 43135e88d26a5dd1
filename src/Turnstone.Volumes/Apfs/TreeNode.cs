using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>Lengths of the records of one kind of tree; zero where each record tells its own.</summary>
/// <param name="Of">Subtype that every node of such a tree carries.</param>
/// <param name="Key">Bytes in a key.</param>
/// <param name="Value">Bytes in a leaf's value; an inner node's value is a child's identifier.</param>
internal readonly record struct TreeShape(ObjectKind Of, int Key, int Value)
{
    public static TreeShape ObjectMap { get; } = new(ObjectKind.ObjectMap, 16, 16);

    public static TreeShape FreeQueue { get; } = new(ObjectKind.FreeQueue, 16, 8);

    public static TreeShape Snapshots { get; } = new(ObjectKind.SnapshotTree, 0, 0);

    public static TreeShape Files { get; } = new(ObjectKind.FileTree, 0, 0);
}

/// <summary>One node of a B-tree, every record of which lies inside it.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, btree_node_phys_t (from memory).</remarks>
internal sealed class TreeNode
{
    private const int Flags = 32;
    private const int LevelAt = 34;
    private const int KeyCount = 36;
    private const int TableSpace = 40;
    private const int Data = 56;
    private const int InfoLength = 40;
    private const int Root = 1;
    private const int Leaf = 2;
    private const int FixedSize = 4;
    private const int ChildOidLength = 8;
    private const int NoValue = 0xFFFF;

    private readonly Spot[] _spots;

    private TreeNode(ApfsObject from, int level, Spot[] spots) => (From, Level, _spots) = (from, level, spots);

    private readonly record struct Spot(int Key, int KeyLength, int Value, int ValueLength);

    public ApfsObject From { get; }

    /// <summary>0 for a leaf.</summary>
    public int Level { get; }

    public bool IsLeaf => Level == 0;

    public int Count => _spots.Length;

    public ReadOnlyMemory<byte> Key(int i) => From.Bytes.Slice(_spots[i].Key, _spots[i].KeyLength);

    public ReadOnlyMemory<byte> Value(int i) => From.Bytes.Slice(_spots[i].Value, _spots[i].ValueLength);

    /// <summary>The child of an inner node.</summary>
    public ulong Child(int i) => BinaryPrimitives.ReadUInt64LittleEndian(Value(i).Span);

    public static Parsed<TreeNode> Read(ApfsObject from, TreeShape shape)
    {
        if (!from.Header.IsTreeNode || from.Header.TreeOf != shape.Of)
            return new Parsed<TreeNode>.Damaged(At: 24, $"type {from.Header.Type:X}, subtype {from.Header.Subtype:X}");
        ReadOnlySpan<byte> block = from.Bytes.Span;
        int flags = U16(block, Flags), level = U16(block, LevelAt);
        if ((flags & Leaf) != 0 != (level == 0))
            return new Parsed<TreeNode>.Damaged(At: Flags, $"flags {flags:X} at level {level}");
        bool isFixed = (flags & FixedSize) != 0;
        if (isFixed && shape.Key == 0)
            return new Parsed<TreeNode>.Damaged(At: Flags, "records of fixed length where none are");
        int keys = Data + U16(block, TableSpace) + U16(block, TableSpace + 2);
        int end = block.Length - ((flags & Root) != 0 ? InfoLength : 0);
        return Records(from, level, new Layout(Data + U16(block, TableSpace), keys, end, isFixed, shape));
    }

    private readonly record struct Layout(int Table, int Keys, int End, bool IsFixed, TreeShape Shape)
    {
        public int EntryLength => IsFixed ? 4 : 8;
    }

    private static Parsed<TreeNode> Records(ApfsObject from, int level, Layout at)
    {
        ReadOnlySpan<byte> block = from.Bytes.Span;
        uint count = BinaryPrimitives.ReadUInt32LittleEndian(block[KeyCount..]);
        if (at.Keys > at.End || count > (at.Keys - at.Table) / at.EntryLength)
            return new Parsed<TreeNode>.Damaged(At: KeyCount, $"{count} records in a table of {at.Keys - at.Table} bytes");
        var spots = new Spot[count];
        for (int i = 0; i < spots.Length; i++)
        {
            int entry = at.Table + (i * at.EntryLength);
            spots[i] = at.IsFixed ? FixedSpot(block[entry..], at, level) : OpenSpot(block[entry..], at);
            if (!Fits(spots[i], at, level))
                return new Parsed<TreeNode>.Damaged(At: entry, $"record {i} reaches out of its node");
        }

        return new Parsed<TreeNode>.Value(new TreeNode(from, level, spots));
    }

    private static Spot FixedSpot(ReadOnlySpan<byte> entry, Layout at, int level)
    {
        int value = U16(entry, 2);
        return new Spot(at.Keys + U16(entry, 0), at.Shape.Key, at.End - (value == NoValue ? 0 : value),
            value == NoValue ? 0 : level == 0 ? at.Shape.Value : ChildOidLength);
    }

    private static Spot OpenSpot(ReadOnlySpan<byte> entry, Layout at)
    {
        int value = U16(entry, 4);
        return new Spot(at.Keys + U16(entry, 0), U16(entry, 2), at.End - (value == NoValue ? 0 : value), value == NoValue ? 0 : U16(entry, 6));
    }

    private static bool Fits(Spot spot, Layout at, int level) =>
        spot.Key + spot.KeyLength <= at.End
        && spot.Value >= at.Keys && spot.Value + spot.ValueLength <= at.End
        && (level == 0 || spot.ValueLength >= ChildOidLength);

    private static int U16(ReadOnlySpan<byte> block, int at) => BinaryPrimitives.ReadUInt16LittleEndian(block[at..]);
}
