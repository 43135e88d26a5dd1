namespace Turnstone.Volumes.HfsPlus;

/// <summary>Checks leaves against their neighbours and the tree's map of nodes.</summary>
/// <remarks>
/// Leaves are a chain in which each names the next and the one before. A node that is given up keeps its links, but its former
/// neighbours don't name it any more: so one that a neighbour names is alive, and one that its neighbours deny is of the past.
/// </remarks>
internal sealed class LeafChain
{
    private readonly Dictionary<uint, (uint Next, uint Previous)> _links = [];
    private readonly NodeMap _map;

    public LeafChain(BTreeFile tree, IEnumerable<uint> leaves)
    {
        _map = new NodeMap(tree);
        foreach (uint leaf in leaves)
        {
            if (tree.Read(leaf) is { IsLeaf: true } node)
                _links[leaf] = (node.Next, node.Previous);
        }
    }

    /// <summary>Whether a neighbour that it names also names it.</summary>
    public bool IsIn(uint leaf) => _links.TryGetValue(leaf, out (uint Next, uint Previous) own)
        && (Names(own.Next, leaf, before: true) == true || Names(own.Previous, leaf, before: false) == true);

    /// <summary>What a leaf is to which the index leads; a bent index may lead to one of the past.</summary>
    public Standing OfReached(uint leaf)
    {
        if (IsIn(leaf) || !_links.TryGetValue(leaf, out (uint Next, uint Previous) own) || own is (0, 0))
            return Standing.Reached;
        if (_map.Of(leaf) == Usage.Free)
            return Standing.Stale;
        bool isDenied = Names(own.Next, leaf, before: true) == false || Names(own.Previous, leaf, before: false) == false;
        return isDenied ? Standing.Loose : Standing.Reached;
    }

    /// <summary>What a leaf is to which no index node leads, where the index has a gap.</summary>
    public Standing OfUnreached(uint leaf)
    {
        if (IsIn(leaf))
            return Standing.Chained;
        return _map.Of(leaf) switch
        {
            Usage.Free => Standing.Stale,
            Usage.Used => Standing.Mapped,
            Usage.Unknown => Standing.Loose,
        };
    }

    /// <summary>Whether a neighbour names the leaf as the one before or after it; null where that is not held.</summary>
    private bool? Names(uint neighbour, uint leaf, bool before)
    {
        if (neighbour == 0 || !_links.TryGetValue(neighbour, out (uint Next, uint Previous) links))
            return null;
        return (before ? links.Previous : links.Next) == leaf;
    }
}
