using System.Numerics;

namespace Turnstone.Volumes.Clusters;

/// <summary>Which clusters are in use, free, or unknown, as a bitmap or a FAT tells; built in ascending order, then asked.</summary>
/// <remarks>Memory follows what was added; a question costs the logarithm of it, however long the run.</remarks>
internal sealed class ClusterMap
{
    private const int PageBits = 4096;
    private const int Words = PageBits / 64;
    private readonly List<Page> _pages = [];

    /// <summary>Adds a cluster after all those added before.</summary>
    public void Add(uint cluster, bool used)
    {
        Page page = PageFor(cluster / PageBits);
        int word = (int)(cluster % PageBits / 64);
        ulong bit = 1UL << (int)(cluster % 64);
        if (used)
        {
            page.Used[word] |= bit;
            page.UsedCount++;
        }
        else
        {
            page.Free[word] |= bit;
            page.FreeCount++;
        }
    }

    /// <summary>Free when every cluster of the run is known to be; used when one of them is; else unknown.</summary>
    public Usage Over(ClusterRun run)
    {
        if (CountBelow(run.First + (long)run.Count, p => p.Free, p => p.FreeBefore) - CountBelow(run.First, p => p.Free, p => p.FreeBefore) == run.Count)
            return Usage.Free;
        bool anyUsed = CountBelow(run.First + (long)run.Count, p => p.Used, p => p.UsedBefore) > CountBelow(run.First, p => p.Used, p => p.UsedBefore);
        return anyUsed ? Usage.Used : Usage.Unknown;
    }

    /// <summary>What is known, in ascending order, neighbours of one kind joined.</summary>
    public IEnumerable<(ClusterRun Run, Usage Usage)> Runs()
    {
        (ClusterRun Run, Usage Usage) last = default;
        foreach ((ClusterRun run, Usage usage) in Pieces())
        {
            if (last.Usage == usage && last.Run.First + last.Run.Count == run.First)
            {
                last = (last.Run with { Count = last.Run.Count + run.Count }, usage);
                continue;
            }

            if (last.Run.Count > 0)
                yield return last;
            last = (run, usage);
        }

        if (last.Run.Count > 0)
            yield return last;
    }

    /// <summary>The clusters of a heap that are not known to be free.</summary>
    public IEnumerable<ClusterRun> NotFree(ClusterHeap heap)
    {
        uint next = ClusterHeap.FirstCluster;
        foreach ((ClusterRun free, _) in Runs().Where(known => known.Usage == Usage.Free))
        {
            if (free.First > next)
                yield return new ClusterRun(next, free.First - next);
            next = free.Last + 1;
        }

        if (next <= heap.LastCluster)
            yield return new ClusterRun(next, heap.LastCluster - next + 1);
    }

    /// <summary>Words of 64 clusters as a whole where they are of one kind, else cluster by cluster.</summary>
    private IEnumerable<(ClusterRun Run, Usage Usage)> Pieces()
    {
        foreach (Page page in _pages)
        {
            for (int i = 0; i < PageBits; i++)
            {
                bool isWhole = i % 64 == 0 && (page.Free[i / 64] == ulong.MaxValue || page.Used[i / 64] == ulong.MaxValue);
                Usage usage = page.UsageAt(i);
                if (usage != Usage.Unknown)
                    yield return (new ClusterRun((page.Number * PageBits) + (uint)i, isWhole ? 64u : 1u), usage);
                i += isWhole ? 63 : 0;
            }
        }
    }

    private Page PageFor(uint number)
    {
        if (_pages.Count > 0 && _pages[^1].Number == number)
            return _pages[^1];
        Page? before = _pages.Count > 0 ? _pages[^1] : null;
        var page = new Page(number, (before?.FreeBefore + before?.FreeCount) ?? 0, (before?.UsedBefore + before?.UsedCount) ?? 0);
        _pages.Add(page);
        return page;
    }

    private long CountBelow(long cluster, Func<Page, ulong[]> bits, Func<Page, long> before)
    {
        int i = LastPageUpTo(cluster / PageBits);
        if (i < 0)
            return 0;
        Page page = _pages[i];
        long within = page.Number == cluster / PageBits ? cluster % PageBits : PageBits;
        long count = before(page);
        for (int word = 0; word < Words && within > 0; word++, within -= 64)
            count += BitOperations.PopCount(within >= 64 ? bits(page)[word] : bits(page)[word] & ((1UL << (int)within) - 1));
        return count;
    }

    private int LastPageUpTo(long number)
    {
        int low = 0, high = _pages.Count - 1;
        while (low <= high)
        {
            int middle = (low + high) / 2;
            if (_pages[middle].Number <= number)
                low = middle + 1;
            else
                high = middle - 1;
        }

        return high;
    }

    private sealed class Page(uint number, long freeBefore, long usedBefore)
    {
        public uint Number => number;

        public long FreeBefore => freeBefore;

        public long UsedBefore => usedBefore;

        public ulong[] Free { get; } = new ulong[Words];

        public ulong[] Used { get; } = new ulong[Words];

        public int FreeCount { get; set; }

        public int UsedCount { get; set; }

        public Usage UsageAt(int i) =>
            (Used[i / 64] >> (i % 64) & 1) != 0 ? Usage.Used : (Free[i / 64] >> (i % 64) & 1) != 0 ? Usage.Free : Usage.Unknown;
    }
}
