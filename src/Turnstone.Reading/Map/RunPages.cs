namespace Turnstone.Reading.Map;

/// <summary>Runs in order of their start, kept in pages so that one change among millions moves only a few hundred of them.</summary>
internal sealed class RunPages
{
    private const int PageRuns = 512;
    private readonly List<Page> _pages = [];

    public RunPages(PackedRun first) => _pages.Add(new Page(first));

    /// <summary>How many runs there are.</summary>
    public int Count { get; private set; } = 1;

    /// <summary>Place of the last run that starts at or before the sector.</summary>
    public Spot Find(long sector)
    {
        int low = 0, high = _pages.Count - 1;
        while (low < high)
        {
            int middle = (low + high + 1) / 2;
            if (_pages[middle].Runs[0].Start <= sector)
                low = middle;
            else
                high = middle - 1;
        }

        return new Spot(low, _pages[low].Find(sector));
    }

    public PackedRun this[Spot at] => _pages[at.Page].Runs[at.Index];

    /// <summary>The spot after this one; false at the end.</summary>
    public bool Next(Spot at, out Spot next)
    {
        next = at.Index + 1 < _pages[at.Page].Count ? new Spot(at.Page, at.Index + 1) : new Spot(at.Page + 1, 0);
        return next.Page < _pages.Count;
    }

    /// <summary>The spot before this one; false at the start.</summary>
    public bool Previous(Spot at, out Spot previous)
    {
        previous = at.Index > 0 ? new Spot(at.Page, at.Index - 1)
            : at.Page > 0 ? new Spot(at.Page - 1, _pages[at.Page - 1].Count - 1) : at;
        return previous != at;
    }

    /// <summary>Takes out every run that starts from <paramref name="from"/> up to, not including, <paramref name="to"/>.</summary>
    public void RemoveStartsWithin(long from, long to)
    {
        int page = Find(from).Page;
        while (page < _pages.Count && _pages[page].Runs[0].Start < to)
        {
            Count -= _pages[page].Remove(from, to);
            if (_pages[page].Count == 0)
                _pages.RemoveAt(page);
            else
                page++;
        }
    }

    /// <summary>Adds a run; none with its start may be there.</summary>
    public void Insert(PackedRun run)
    {
        if (_pages.Count == 0)
        {
            _pages.Add(new Page(run));
        }
        else
        {
            int at = Find(run.Start).Page;
            if (_pages[at].Count == PageRuns)
            {
                _pages.Insert(at + 1, _pages[at].SplitOff());
                at = Find(run.Start).Page;
            }

            _pages[at].Insert(run);
        }

        Count++;
    }

    /// <summary>Where a run stands; good until the next change.</summary>
    internal readonly record struct Spot(int Page, int Index);

    private sealed class Page
    {
        public Page(PackedRun first)
        {
            Runs = new PackedRun[8];
            Runs[0] = first;
            Count = 1;
        }

        private Page(ReadOnlySpan<PackedRun> runs)
        {
            Runs = new PackedRun[PageRuns];
            runs.CopyTo(Runs);
            Count = runs.Length;
        }

        public PackedRun[] Runs { get; private set; }

        public int Count { get; private set; }

        // Index of the last run that starts at or before the sector; 0 when all start after it.
        public int Find(long sector)
        {
            int low = 0, high = Count - 1;
            while (low < high)
            {
                int middle = (low + high + 1) / 2;
                if (Runs[middle].Start <= sector)
                    low = middle;
                else
                    high = middle - 1;
            }

            return low;
        }

        public int Remove(long from, long to)
        {
            int first = Runs[0].Start >= from ? 0 : Find(from - 1) + 1;
            int last = Runs[0].Start >= to ? 0 : Find(to - 1) + 1;
            Array.Copy(Runs, last, Runs, first, Count - last);
            Count -= last - first;
            return last - first;
        }

        public void Insert(PackedRun run)
        {
            if (Count == Runs.Length)
            {
                var larger = new PackedRun[Math.Min(PageRuns, Count * 2)];
                Runs.CopyTo(larger, 0);
                Runs = larger;
            }

            int at = Count == 0 || Runs[0].Start > run.Start ? 0 : Find(run.Start) + 1;
            Array.Copy(Runs, at, Runs, at + 1, Count - at);
            Runs[at] = run;
            Count++;
        }

        public Page SplitOff()
        {
            int half = Count / 2;
            var page = new Page(Runs.AsSpan(half, Count - half));
            Count = half;
            return page;
        }
    }
}
