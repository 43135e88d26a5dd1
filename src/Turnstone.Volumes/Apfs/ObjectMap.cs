using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>Where one version of an object lies.</summary>
internal readonly record struct Mapping(ulong Oid, ulong Xid, ulong Address, bool IsDeleted);

/// <summary>What turns identifiers into blocks: every mapping that can be had of one object map.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, omap_phys_t, omap_key_t, omap_val_t (from memory).</remarks>
internal sealed class ObjectMap
{
    private const int TreeOid = 48;
    private const uint Deleted = 1;

    private readonly Dictionary<ulong, Mapping> _latest = [];
    private readonly List<Mapping> _others = [];
    private readonly HashSet<ulong> _nodes = [];

    /// <summary>A map of which nothing is known.</summary>
    public static ObjectMap Unknown { get; } = new() { IsComplete = false };

    /// <summary>Whether every node of the map could be read: what it does not list does not exist.</summary>
    public bool IsComplete { get; private set; } = true;

    /// <summary>Blocks of the map itself, the ones that could not be read too.</summary>
    public IReadOnlySet<ulong> Nodes => _nodes;

    /// <summary>The newest version of every object, in no order; the deleted ones too.</summary>
    public IEnumerable<Mapping> Latest => _latest.Values;

    /// <summary>Versions that a newer one has replaced: snapshots keep them.</summary>
    public IReadOnlyList<Mapping> Older => _others;

    /// <summary>Every mapping that can be had.</summary>
    /// <param name="blocks">The container.</param>
    /// <param name="address">Block of the map's own object.</param>
    /// <param name="newest">Versions of later transactions are left out.</param>
    /// <param name="skip">Nodes that need no reading, because their mappings are known.</param>
    public static ObjectMap Read(ContainerBlocks blocks, ulong address, ulong newest, IReadOnlySet<ulong>? skip = null)
    {
        var map = new ObjectMap();
        map._nodes.Add(address);
        if (blocks.Read(address).OrNone is not { Header.Kind: ObjectKind.ObjectMap } head || head.Header.Xid > newest)
        {
            map.IsComplete = false;
            return map;
        }

        ulong root = BinaryPrimitives.ReadUInt64LittleEndian(head.Bytes.Span[TreeOid..]);
        var walk = new TreeWalk(oid => skip?.Contains(oid) == true ? null : Node(blocks, oid, newest));
        foreach (TreePart part in walk.Parts(root))
            map.Take(part, newest);
        return map;
    }

    public bool TryFind(ulong oid, out Mapping mapping) => _latest.TryGetValue(oid, out mapping) && !mapping.IsDeleted;

    /// <summary>Whether the map is known to hold nothing under this identifier.</summary>
    public bool Lacks(ulong oid) => _latest.TryGetValue(oid, out Mapping known) ? known.IsDeleted : IsComplete;

    /// <summary>Transaction of an object's newest version; 0 where none is listed.</summary>
    public ulong LatestXid(ulong oid) => _latest.TryGetValue(oid, out Mapping known) ? known.Xid : 0;

    /// <summary>Whether any version of the object is listed.</summary>
    public bool Knows(ulong oid) => _latest.ContainsKey(oid);

    private static FoundNode? Node(ContainerBlocks blocks, ulong address, ulong newest) =>
        blocks.Read(address).OrNone is { } found && found.Header.Oid == address && found.Header.Xid <= newest
            && TreeNode.Read(found, TreeShape.ObjectMap).OrNone is { } node
            ? new FoundNode(node, default)
            : null;

    private void Take(TreePart part, ulong newest)
    {
        _nodes.Add(part.Oid);
        IsComplete &= part.Node is not null;
        for (int i = 0; part.Node is { IsLeaf: true } leaf && i < leaf.Count; i++)
        {
            if (leaf.Value(i).Length == 16)
                Take(Entry(leaf.Key(i).Span, leaf.Value(i).Span), newest);
        }
    }

    private void Take(Mapping found, ulong newest)
    {
        if (found.Xid > newest)
            return;
        if (_latest.TryGetValue(found.Oid, out Mapping known))
            _others.Add(known.Xid < found.Xid ? known : found);
        if (known.Xid <= found.Xid)
            _latest[found.Oid] = found;
    }

    private static Mapping Entry(ReadOnlySpan<byte> key, ReadOnlySpan<byte> value) => new(
        BinaryPrimitives.ReadUInt64LittleEndian(key),
        BinaryPrimitives.ReadUInt64LittleEndian(key[8..]),
        BinaryPrimitives.ReadUInt64LittleEndian(value[8..]),
        (BinaryPrimitives.ReadUInt32LittleEndian(value) & Deleted) != 0);
}
