namespace Turnstone.Volumes.HfsPlus;

/// <summary>Why a leaf node is taken for a part of its tree; the best reason first.</summary>
internal enum Standing
{
    /// <summary>The index leads to it.</summary>
    Reached,

    /// <summary>A neighbour and it name each other, where the index has a gap.</summary>
    Chained,

    /// <summary>The tree's map says that it is in use, where the index has a gap.</summary>
    Mapped,

    /// <summary>It looks like a leaf, and nothing that could deny it is held.</summary>
    Loose,

    /// <summary>The tree has given it up: what stands in it is of the past.</summary>
    Stale,
}

/// <summary>A leaf node and why it is one.</summary>
internal readonly record struct LeafNode(uint Number, Standing Standing);

/// <summary>The leaf nodes of a B-tree: through the index where it is held, else through their links, the map of nodes, or their looks.</summary>
internal sealed class LeafSurvey
{
    private const int DepthMax = 16;
    private readonly BTreeFile _tree;
    private readonly HashSet<uint> _seen = [];
    private readonly List<uint> _reached = [];
    private readonly List<uint> _headless = [];

    private LeafSurvey(BTreeFile tree) => _tree = tree;

    /// <summary>Those that belong to the tree: reached ones in the order of their keys, then the others, the surest first.</summary>
    public IReadOnlyList<LeafNode> Live { get; private set; } = [];

    /// <summary>Those that the tree has given up.</summary>
    public IReadOnlyList<LeafNode> Stale { get; private set; } = [];

    /// <summary>Whether every index node is held and makes sense: then no live leaf is missing from <see cref="Live"/>.</summary>
    public bool IsComplete { get; private set; }

    /// <summary>Nodes that may be leaves, but whose first bytes are not held.</summary>
    public IReadOnlyList<uint> Headless => _headless;

    public static LeafSurvey Of(BTreeFile tree)
    {
        var survey = new LeafSurvey(tree);
        survey.IsComplete = survey.Walk() && tree.HasAllNodes;
        survey.Judge(survey.Unreached());
        return survey;
    }

    /// <summary>From the root down; answers whether nothing was in the way.</summary>
    private bool Walk()
    {
        if (_tree.Header is not { } header || header.Depth > DepthMax)
            return false;
        if (header.Depth == 0)
            return header.Root == 0;
        bool whole = true;
        var open = new Stack<(uint Number, int Height)>([(header.Root, header.Depth)]);
        while (open.TryPop(out (uint Number, int Height) at))
        {
            // a node that two others claim makes the whole index doubtful
            if (at.Number == 0 || at.Number >= _tree.NodeCount || !_seen.Add(at.Number))
                whole = false;
            else if (at.Height == 1)
                _reached.Add(at.Number);
            else
                whole &= Descend(at.Number, at.Height, open);
        }

        return whole;
    }

    private bool Descend(uint number, int height, Stack<(uint Number, int Height)> open)
    {
        BTreeNode node = _tree.Read(number);
        if (!node.IsIndex || node.Height != height)
        {
            // it may be a leaf in the wrong place: the search for leaves shall see it
            _seen.Remove(number);
            return false;
        }

        for (int i = node.Found - 1; i >= 0; i--)
            open.Push((Child(node.Record(i)), height - 1));
        return node.IsSound;
    }

    private uint Child(ReadOnlySpan<byte> record)
    {
        int key = _tree.Header is { HasVariableIndexKeys: false } header ? header.MaxKeyLength : record.U16(0);
        return key + 6 <= record.Length ? record.U32(2 + key) : 0;
    }

    /// <summary>Leaves that are held, but to which no index node leads.</summary>
    private List<uint> Unreached()
    {
        var others = new List<uint>();
        foreach (uint number in _tree.HeldNodes())
        {
            if (!_seen.Add(number))
                continue;
            BTreeNode node = _tree.Read(number);
            if (node is { IsLeaf: true, Found: > 0 })
                others.Add(number);
            else if (!node.HasDescriptor)
                _headless.Add(number);
        }

        return others;
    }

    private void Judge(List<uint> others)
    {
        var chain = new LeafChain(_tree, _reached.Concat(others));
        LeafNode[] reached = [.. _reached.Select(n => new LeafNode(n, chain.OfReached(n)))];
        // a reached leaf that is none, or a chained one that is not reached: the index is bent
        IsComplete &= reached.All(l => l.Standing == Standing.Reached) && !others.Any(chain.IsIn);
        LeafNode[] all = [.. reached, .. others.Select(n => new LeafNode(n, IsComplete ? Standing.Stale : chain.OfUnreached(n)))];
        Live = [.. all.Where(l => l.Standing != Standing.Stale).OrderBy(l => l.Standing)];
        Stale = [.. all.Where(l => l.Standing == Standing.Stale)];
    }
}
