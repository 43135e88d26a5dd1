namespace Turnstone.Volumes.Apfs;

/// <summary>One stretch of a tree's keys: a leaf, or a gap where the leaf cannot be had.</summary>
/// <param name="Low">First key that belongs to it.</param>
/// <param name="Leaf">Block of the leaf; 0 for a gap.</param>
/// <param name="Trust">How far the leaf is to be trusted.</param>
internal readonly record struct TreeStretch(RecordKey Low, ulong Leaf, Trust Trust)
{
    public bool IsGap => Leaf == 0;
}

/// <summary>What a look-up brought, and whether something that could add to it cannot be had.</summary>
internal readonly record struct FoundRecords(IReadOnlyList<FileRecord> Records, bool HasGap);

/// <summary>The records of a file tree by key, over its leaves alone.</summary>
/// <remarks>
/// Leaves are read again when needed, so memory follows their number, not their contents. All look-ups together
/// are bounded by a multiple of the records there are, so that links drawn many times to one long list end.
/// </remarks>
internal sealed class FileTree
{
    private const int MostVisitsPerRecord = 64;
    private const long VisitsOfSmallTree = 1 << 20;

    private readonly ContainerBlocks _blocks;
    private readonly bool _hashed;
    private readonly TreeStretch[] _stretches;
    private readonly RecentlyUsed<ulong, FileLeaf> _leaves;
    private long _visitsLeft;

    /// <summary>Takes leaves and gaps.</summary>
    /// <param name="blocks">The container.</param>
    /// <param name="hashed">Whether directory records carry a hash.</param>
    /// <param name="stretches">Leaves and gaps in the order of their keys.</param>
    public FileTree(ContainerBlocks blocks, bool hashed, IEnumerable<TreeStretch> stretches)
    {
        (_blocks, _hashed, _stretches) = (blocks, hashed, [.. stretches]);
        _leaves = new RecentlyUsed<ulong, FileLeaf>((8 << 20) / blocks.BlockBytes);
        HasGaps = _stretches.Length == 0 || Array.Exists(_stretches, s => s.IsGap);
        _visitsLeft = VisitsOfSmallTree + ((long)MostVisitsPerRecord * _stretches.Length * (blocks.BlockBytes / 64));
    }

    public bool HasGaps { get; }

    public bool HasHashedNames => _hashed;

    public IReadOnlyList<TreeStretch> Stretches => _stretches;

    /// <summary>The leaf of a stretch, or null for a gap.</summary>
    public FileLeaf? Leaf(TreeStretch stretch)
    {
        if (stretch.IsGap)
            return null;
        if (_leaves.TryGet(stretch.Leaf, out FileLeaf? known))
            return known;
        FileLeaf? leaf = _blocks.Read(stretch.Leaf).OrNone is { } found && TreeNode.Read(found, TreeShape.Files).OrNone is { } node
            ? FileLeaf.Of(node, _hashed)
            : null;
        return leaf is null ? null : _leaves.Keep(stretch.Leaf, leaf);
    }

    /// <summary>Every record, in the order of the keys; gaps are passed over.</summary>
    public IEnumerable<FileRecord> All()
    {
        foreach (TreeStretch stretch in _stretches)
        {
            FileLeaf? leaf = Leaf(stretch);
            for (int i = 0; i < leaf?.Count; i++)
                yield return leaf.Record(i, stretch.Trust);
        }
    }

    /// <summary>One object's records of some kinds.</summary>
    public FoundRecords Of(ulong id, RecordType first, RecordType last)
    {
        var found = new List<FileRecord>();
        bool gap = _stretches.Length == 0;
        foreach (FileRecord? record in Walk(id, first, last))
        {
            if (record is { } held)
                found.Add(held);
            else
                gap = true;
        }

        return new FoundRecords(found, gap);
    }

    /// <summary>The same as a stream, in which null stands for a gap.</summary>
    public IEnumerable<FileRecord?> Walk(ulong id, RecordType first, RecordType last)
    {
        var from = new RecordKey(id, first, 0);
        var to = new RecordKey(id, last, ulong.MaxValue);
        for (int i = Math.Max(0, FirstAt(from)); i < _stretches.Length && _stretches[i].Low <= to; i++)
        {
            FileLeaf? leaf = --_visitsLeft < 0 ? null : Leaf(_stretches[i]);
            if (leaf is null)
                yield return null;
            if (_visitsLeft < 0)
                yield break;
            for (int k = leaf?.IndexOf(from) ?? 0; k < leaf?.Count && leaf.Key(k) <= to; k++)
            {
                _visitsLeft--;
                yield return leaf.Record(k, _stretches[i].Trust);
            }
        }
    }

    /// <summary>The last stretch that begins before the key: equal keys may reach over the border of two leaves.</summary>
    private int FirstAt(RecordKey key)
    {
        int low = 0, high = _stretches.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_stretches[middle].Low < key)
                low = middle + 1;
            else
                high = middle;
        }

        return low - 1;
    }
}
