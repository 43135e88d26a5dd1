namespace Turnstone.Volumes.Clusters;

/// <summary>Why a chain of clusters ends where it does.</summary>
internal enum ChainEnd
{
    /// <summary>It is as long as it should be and the table ends it there.</summary>
    Sound,

    /// <summary>All clusters wanted were found, but the table goes on.</summary>
    Longer,

    /// <summary>The table ends it too early.</summary>
    Shorter,

    /// <summary>The entry that tells the next cluster is not held.</summary>
    NotHeld,

    /// <summary>It runs into a cluster that the table calls free, bad or that does not exist.</summary>
    Broken,

    /// <summary>It comes back to one of its own clusters.</summary>
    Loop,

    /// <summary>So many chains lead through these clusters that following them all would take too long.</summary>
    Tangled,
}

/// <summary>The clusters of one file or folder, in file order, as far as they are known.</summary>
/// <param name="Runs">Clusters in file order.</param>
/// <param name="Clusters">How many clusters the runs have together.</param>
/// <param name="End">Why it ends there.</param>
/// <param name="CopiesDiffer">Whether the copies of the table disagree on it.</param>
internal sealed record Chain(IReadOnlyList<ClusterRun> Runs, long Clusters, ChainEnd End, bool CopiesDiffer)
{
    /// <summary>No cluster at all: an empty file.</summary>
    public static Chain Empty { get; } = new([], 0, ChainEnd.Sound, CopiesDiffer: false);

    /// <summary>Nothing that could be followed.</summary>
    public static Chain Broken { get; } = new([], 0, ChainEnd.Broken, CopiesDiffer: false);

    /// <summary>A chain that needs no table.</summary>
    public static Chain Row(uint first, long count) =>
        count == 0 ? Empty : new([new ClusterRun(first, (uint)count)], count, ChainEnd.Sound, CopiesDiffer: false);

    /// <summary>Whether something contradicts it: what hangs on it is not sure then.</summary>
    public bool IsDoubtful => CopiesDiffer || End is not (ChainEnd.Sound or ChainEnd.Longer or ChainEnd.NotHeld);

    /// <summary>Whether the runs are all there is to know.</summary>
    public bool IsComplete => End is ChainEnd.Sound or ChainEnd.Longer;
}

/// <summary>Collects clusters and joins neighbours.</summary>
internal sealed class RunBuilder
{
    private readonly List<ClusterRun> _runs = [];

    public IReadOnlyList<ClusterRun> Runs => _runs;

    public long Clusters { get; private set; }

    public void Add(uint cluster)
    {
        Clusters++;
        if (_runs.Count > 0 && _runs[^1].First + _runs[^1].Count == cluster)
            _runs[^1] = _runs[^1] with { Count = _runs[^1].Count + 1 };
        else
            _runs.Add(new ClusterRun(cluster, 1));
    }

    public Chain Finish(ChainEnd end, bool copiesDiffer) => new(_runs, Clusters, end, copiesDiffer);
}
