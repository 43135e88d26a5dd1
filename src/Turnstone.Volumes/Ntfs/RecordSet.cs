namespace Turnstone.Volumes.Ntfs;

/// <summary>Numbers of records, in memory that follows the numbers met and not the largest one.</summary>
internal sealed class RecordSet
{
    private const int PageShift = 15;

    private readonly Dictionary<long, ulong[]> _pages = [];
    private ulong[]? _last;
    private long _lastPage = -1;

    public void Add(long number)
    {
        long page = number >> PageShift;
        if (page != _lastPage)
        {
            if (!_pages.TryGetValue(page, out _last))
                _pages[page] = _last = new ulong[(1 << PageShift) / 64];
            _lastPage = page;
        }

        _last![(number & ((1 << PageShift) - 1)) / 64] |= 1UL << (int)(number & 63);
    }

    public bool Contains(long number) =>
        _pages.TryGetValue(number >> PageShift, out ulong[]? page) && (page[(number & ((1 << PageShift) - 1)) / 64] >> (int)(number & 63) & 1) != 0;
}
