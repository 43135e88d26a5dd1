namespace Turnstone.Volumes.Clusters;

/// <summary>Which clusters the entries of a volume lay claim to: collected first, then asked.</summary>
/// <remarks>Two claims on one cluster cannot both be right, so each claimant has to know of the other.</remarks>
internal sealed class Claims
{
    private readonly List<ClusterRun> _runs = [];
    private List<ClusterRun> _shared = [];
    private List<ClusterRun> _merged = [];

    /// <summary>Notes a claim; it counts after the next <see cref="Settle"/>.</summary>
    public void Add(ClusterRun run) => _runs.Add(run);

    /// <summary>Sorts the claims out.</summary>
    public void Settle()
    {
        _runs.Sort((a, b) => a.First.CompareTo(b.First));
        (_merged, _shared) = ([], []);
        foreach (ClusterRun run in _runs)
        {
            long reached = _merged.Count > 0 ? _merged[^1].Last : -1;
            if (run.First <= reached)
                Put(_shared, new ClusterRun(run.First, (uint)Math.Min(run.Count, reached - run.First + 1)));
            Put(_merged, run);
        }

    }

    /// <summary>Whether any cluster of the run has two claims or more.</summary>
    public bool AnyShared(ClusterRun run) => Meets(_shared, run);

    /// <summary>Whether any cluster of the run has a claim.</summary>
    public bool Any(ClusterRun run) => Meets(_merged, run);

    /// <summary>The parts of a run that nothing claims.</summary>
    public IEnumerable<ClusterRun> Without(ClusterRun run)
    {
        long next = run.First;
        for (int i = FirstEndingAtOrAfter(_merged, run.First); i < _merged.Count && _merged[i].First <= run.Last; i++)
        {
            if (_merged[i].First > next)
                yield return new ClusterRun((uint)next, (uint)(_merged[i].First - next));
            next = Math.Max(next, _merged[i].Last + 1L);
        }

        if (next <= run.Last)
            yield return new ClusterRun((uint)next, (uint)(run.Last - next + 1));
    }

    /// <summary>Joins a run that starts no earlier than the last one did to a list in ascending order.</summary>
    private static void Put(List<ClusterRun> runs, ClusterRun run)
    {
        if (runs.Count == 0 || run.First > (long)runs[^1].Last + 1)
            runs.Add(run);
        else if (run.Last > runs[^1].Last)
            runs[^1] = runs[^1] with { Count = run.Last - runs[^1].First + 1 };
    }

    private static bool Meets(List<ClusterRun> runs, ClusterRun run)
    {
        int i = FirstEndingAtOrAfter(runs, run.First);
        return i < runs.Count && runs[i].First <= run.Last;
    }

    private static int FirstEndingAtOrAfter(List<ClusterRun> runs, uint cluster)
    {
        int low = 0, high = runs.Count - 1;
        while (low <= high)
        {
            int middle = (low + high) / 2;
            if (runs[middle].Last < cluster)
                low = middle + 1;
            else
                high = middle - 1;
        }

        return low;
    }
}
