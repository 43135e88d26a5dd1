using System.Diagnostics.CodeAnalysis;

namespace Turnstone.Volumes.Apfs;

/// <summary>Keeps what was used last, between one and two times the capacity.</summary>
internal sealed class RecentlyUsed<TKey, TValue>(int capacity)
    where TKey : notnull
    where TValue : class
{
    private Dictionary<TKey, TValue> _young = [];
    private Dictionary<TKey, TValue> _old = [];

    public bool TryGet(TKey key, [NotNullWhen(true)] out TValue? value)
    {
        if (_young.TryGetValue(key, out value))
            return true;
        if (!_old.TryGetValue(key, out value))
            return false;
        Keep(key, value);
        return true;
    }

    public TValue Keep(TKey key, TValue value)
    {
        if (_young.Count >= capacity)
            (_old, _young) = (_young, []);
        return _young[key] = value;
    }
}
