namespace Turnstone.Volumes.Apfs;

/// <summary>Puts a file tree together: from its root where the nodes can be had, and out of loose leaves where not.</summary>
/// <param name="blocks">The container.</param>
/// <param name="nodes">Finds nodes by identifier.</param>
/// <param name="hashed">Whether directory records carry a hash.</param>
internal sealed class FileTreeBuilder(ContainerBlocks blocks, NodeFinder nodes, bool hashed)
{
    private readonly List<TreeStretch> _stretches = [];
    private readonly HashSet<ulong> _used = [];

    /// <summary>Leaves and inner nodes that belong to the tree.</summary>
    public IReadOnlySet<ulong> UsedAddresses => _used;

    public FileTree Build(ulong root)
    {
        var walk = new TreeWalk(nodes.Find);
        foreach (TreePart part in walk.Parts(root))
            Take(part);
        if (_stretches.Exists(s => s.IsGap))
            Fill();
        return new FileTree(blocks, hashed, _stretches);
    }

    private void Take(TreePart part)
    {
        if (part.Node is { } node)
            _used.Add(node.From.Address);
        if (part.Node is { IsLeaf: false })
            return;
        RecordKey low = RecordKey.Read(part.Low.Span, hashed) ?? RecordKey.Lowest;
        // A tree whose keys run backwards is damaged; what lies out of order is left to the loose leaves.
        if (_stretches.Count > 0 && low.IsBefore(_stretches[^1].Low))
            return;
        bool isLeaf = part.Node is { } leaf && FileLeaf.Of(leaf, hashed) is not null;
        _stretches.Add(new TreeStretch(low, isLeaf ? part.Node!.From.Address : 0, part.Trust));
    }

    /// <summary>Puts loose leaves into gaps, the most trusted and then the newest first, none over another.</summary>
    private void Fill()
    {
        var gaps = new SortedSet<(RecordKey Low, RecordKey End)>(Gaps());
        var filled = new List<TreeStretch>(_stretches.Where(s => !s.IsGap));
        foreach (LooseLeaf loose in nodes.Loose(hashed).OrderBy(l => l.Trust.Certainty).ThenByDescending(l => l.Xid))
        {
            if (!TryPlace(gaps, loose))
                continue;
            _used.Add(loose.Address);
            filled.Add(new TreeStretch(loose.First, loose.Address, loose.Trust));
        }

        // Where every node that the object map lists was read, nothing is left that could lie in a gap.
        if (!nodes.HasReadAllListed)
            filled.AddRange(gaps.Select(gap => new TreeStretch(gap.Low, 0, default)));
        _stretches.Clear();
        _stretches.AddRange(filled.OrderBy(s => s.Low).ThenBy(s => s.IsGap));
    }

    private IEnumerable<(RecordKey Low, RecordKey End)> Gaps()
    {
        for (int i = 0; i < _stretches.Count; i++)
        {
            if (_stretches[i].IsGap)
                yield return (_stretches[i].Low, i + 1 < _stretches.Count ? _stretches[i + 1].Low : RecordKey.Highest);
        }
    }

    /// <summary>Cuts the leaf out of the gap that it lies in; what is left before and behind stays a gap.</summary>
    private static bool TryPlace(SortedSet<(RecordKey Low, RecordKey End)> gaps, LooseLeaf loose)
    {
        (RecordKey Low, RecordKey End) reach = (loose.First, RecordKey.Highest);
        if (gaps.Count == 0 || gaps.Min.CompareTo(reach) > 0)
            return false;
        (RecordKey Low, RecordKey End) gap = gaps.GetViewBetween(gaps.Min, reach).Max;
        if (gap.End < loose.Last)
            return false;
        gaps.Remove(gap);
        if (gap.Low < loose.First)
            gaps.Add((gap.Low, loose.First));
        if (loose.Last < gap.End)
            gaps.Add((loose.Last, gap.End));
        return true;
    }
}
