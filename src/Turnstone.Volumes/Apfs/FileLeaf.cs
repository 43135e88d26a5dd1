namespace Turnstone.Volumes.Apfs;

/// <summary>A leaf of a file tree whose records are in order.</summary>
internal sealed class FileLeaf
{
    private readonly TreeNode _node;
    private readonly RecordKey[] _keys;

    private FileLeaf(TreeNode node, RecordKey[] keys) => (_node, _keys) = (node, keys);

    public ObjectHeader Header => _node.From.Header;

    public ulong Address => _node.From.Address;

    public int Count => _keys.Length;

    public RecordKey First => _keys[0];

    public RecordKey Last => _keys[^1];

    /// <summary>The leaf; null for one that is empty or whose keys are out of order.</summary>
    public static FileLeaf? Of(TreeNode node, bool hashed)
    {
        if (!node.IsLeaf || node.Count == 0)
            return null;
        var keys = new RecordKey[node.Count];
        for (int i = 0; i < keys.Length; i++)
        {
            if (RecordKey.Read(node.Key(i).Span, hashed) is not { } key || (i > 0 && key.IsBefore(keys[i - 1])))
                return null;
            keys[i] = key;
        }

        return new FileLeaf(node, keys);
    }

    /// <summary>The first record of the key's object and kind, or behind them.</summary>
    public int IndexOf(RecordKey key)
    {
        int low = 0, high = _keys.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_keys[middle].IsBefore(key))
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }

    public RecordKey Key(int i) => _keys[i];

    public FileRecord Record(int i, Trust trust) => new(_keys[i], _node.Key(i), _node.Value(i), trust);
}
