namespace Turnstone.Volumes.Clusters;

/// <summary>A set of cluster numbers whose memory follows what was put in, not the size of the volume.</summary>
internal sealed class ClusterSet
{
    private const int PageBits = 512;
    private readonly Dictionary<uint, ulong[]> _pages = [];
    private uint _lastKey = uint.MaxValue;
    private ulong[] _last = [];

    /// <summary>Puts a cluster in; answers false when it was there already.</summary>
    public bool Add(uint cluster)
    {
        ulong[] page = Page(cluster / PageBits);
        ref ulong word = ref page[cluster % PageBits / 64];
        ulong bit = 1UL << (int)(cluster % 64);
        bool isNew = (word & bit) == 0;
        word |= bit;
        return isNew;
    }

    /// <summary>Whether the cluster was put in.</summary>
    public bool Contains(uint cluster) =>
        _pages.TryGetValue(cluster / PageBits, out ulong[]? page) && (page[cluster % PageBits / 64] >> (int)(cluster % 64) & 1) != 0;

    private ulong[] Page(uint key)
    {
        if (key == _lastKey)
            return _last;
        if (!_pages.TryGetValue(key, out ulong[]? page))
            _pages[key] = page = new ulong[PageBits / 64];
        (_lastKey, _last) = (key, page);
        return page;
    }
}
