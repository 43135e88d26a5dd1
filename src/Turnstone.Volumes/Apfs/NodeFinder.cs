using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>A leaf without a parent that could be had.</summary>
internal readonly record struct LooseLeaf(RecordKey First, RecordKey Last, ulong Address, ulong Xid, Trust Trust);

/// <summary>Finds the nodes of one volume's file tree: by its object map, and by searching where the map or the node is lost.</summary>
/// <param name="blocks">The container.</param>
/// <param name="map">The volume's object map, as far as it could be read.</param>
/// <param name="strays">Looks for nodes in the held blocks; asked only when something is missing.</param>
internal sealed class NodeFinder(ContainerBlocks blocks, ObjectMap map, StrayNodes strays)
{
    private readonly HashSet<ulong> _found = [];

    /// <summary>Whether the map is whole and every node that it lists was read.</summary>
    public bool HasReadAllListed { get; private set; }

    /// <summary>The node of an identifier that a parent, or the superblock, names.</summary>
    public FoundNode? Find(ulong oid)
    {
        FoundNode? found = map.TryFind(oid, out Mapping mapping) ? Listed(mapping) : null;
        if (found is null && !map.Lacks(oid))
            found = Stray(oid, mapping);
        if (found is not null)
            _found.Add(oid);
        return found;
    }

    /// <summary>Leaves that no parent led to, each identifier once.</summary>
    public IEnumerable<LooseLeaf> Loose(bool hashed)
    {
        HasReadAllListed = map.IsComplete;
        var loose = new List<LooseLeaf>();
        foreach (Mapping mapping in map.Latest.Where(m => !m.IsDeleted && !_found.Contains(m.Oid)).ToList())
        {
            if (Listed(mapping) is { } found)
                Add(loose, found, hashed);
            else
                HasReadAllListed &= IsOther(mapping);
        }

        if (HasReadAllListed)
            return loose;
        foreach (ulong oid in strays.Oids.Where(oid => !_found.Contains(oid) && !map.Lacks(oid) && strays.AreOurs(oid, map)).ToList())
        {
            map.TryFind(oid, out Mapping mapping);
            if (Stray(oid, mapping) is { } found)
                Add(loose, found, hashed);
        }

        return loose;
    }

    private void Add(List<LooseLeaf> loose, FoundNode found, bool hashed)
    {
        _found.Add(found.Node.From.Header.Oid);
        if (FileLeaf.Of(found.Node, hashed) is { } leaf)
            loose.Add(new LooseLeaf(leaf.First, leaf.Last, leaf.Address, leaf.Header.Xid, found.Trust));
    }

    private FoundNode? Listed(Mapping mapping) =>
        blocks.Read(mapping.Address).OrNone is { } found && found.Header.Oid == mapping.Oid && found.Header.Xid == mapping.Xid
            && TreeNode.Read(found, TreeShape.Files).OrNone is { } node
            ? new FoundNode(node, default)
            : null;

    /// <summary>Whether what the map lists is held and is no part of the file tree.</summary>
    private bool IsOther(Mapping mapping) =>
        blocks.Read(mapping.Address).OrNone is { } found && found.Header.Oid == mapping.Oid && found.Header.TreeOf != ObjectKind.FileTree;

    private FoundNode? Stray(ulong oid, Mapping mapping)
    {
        foreach ((ScannedObject scanned, Trust trust) in strays.Of(oid))
        {
            // The map tells of a newer version, so this one is only what was there before.
            Trust known = scanned.Header.Xid < mapping.Xid ? new Trust(Origin.Journal, Certainty.Guessed) : trust;
            if (blocks.Read(scanned.Address).OrNone is { } found && TreeNode.Read(found, TreeShape.Files).OrNone is { } node)
                return new FoundNode(node, known);
        }

        return null;
    }
}

/// <summary>File-tree nodes found by searching, and how far each is to be trusted.</summary>
/// <param name="scan">The search.</param>
/// <param name="space">Tells whether a block is still in use.</param>
/// <param name="keptUpTo">Newest transaction of which a snapshot may keep nodes in use; 0 without snapshots.</param>
/// <param name="othersKnow">Whether another volume's object map lists the identifier, or might.</param>
internal sealed class StrayNodes(NodeScan scan, SpaceManager space, ulong keptUpTo, Func<ulong, bool> othersKnow)
{
    private ILookup<ulong, ScannedObject>? _byOid;

    public IEnumerable<ulong> Oids => ByOid.Select(group => group.Key);

    private ILookup<ulong, ScannedObject> ByOid =>
        _byOid ??= scan.Look().Where(found => found.Header.IsTreeNode).ToLookup(found => found.Header.Oid);

    /// <summary>Whether nodes of this identifier belong to the volume of that map: nothing in a node itself says so.</summary>
    public bool AreOurs(ulong oid, ObjectMap map) => map.Knows(oid) || !othersKnow(oid);

    /// <summary>Versions of one node, the most likely current one first.</summary>
    public IEnumerable<(ScannedObject Found, Trust Trust)> Of(ulong oid) =>
        ByOid[oid].Select(found => (Found: found, Trust: Weigh(found)))
            .OrderBy(f => f.Trust.Certainty).ThenByDescending(f => f.Found.Header.Xid);

    /// <summary>Every version of every node.</summary>
    public IEnumerable<ScannedObject> All => ByOid.SelectMany(group => group);

    private Trust Weigh(ScannedObject found) => space.Owned(found.Address) switch
    {
        Usage.Used when found.Header.Xid > keptUpTo => new Trust(Origin.Scan, Certainty.Likely),
        Usage.Used or Usage.Unknown => new Trust(Origin.Scan, Certainty.Guessed),
        Usage.Free => new Trust(Origin.Journal, Certainty.Guessed),
    };
}
