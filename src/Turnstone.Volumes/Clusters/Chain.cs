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

/// <summary>Follows chains through the table, in one pass over a volume.</summary>
/// <remarks>
/// In a sound volume no cluster belongs to two chains, so all chains together take as many steps as there are entries.
/// Steps on clusters seen before are rationed, which keeps the time linear however the chains are tangled.
/// </remarks>
internal sealed class ChainReader(AllocationTable table)
{
    private const long SpareRevisits = 65_536;
    private const int RevisitsPerCluster = 8;
    private readonly ClusterSet _seen = new();
    private long _firstVisits;
    private long _revisits;

    /// <summary>The chain that starts at a cluster.</summary>
    /// <param name="first">Its first cluster.</param>
    /// <param name="wanted">Clusters that it should have; null where only the table tells.</param>
    /// <param name="most">Where <paramref name="wanted"/> is null, the most it may have.</param>
    public Chain Read(uint first, long? wanted, long most = uint.MaxValue)
    {
        if (!table.Layout.Heap.Holds(first))
            return new Chain([], 0, ChainEnd.Broken, CopiesDiffer: false);
        Chain chain = Follow(first, wanted, most, preferred: 0);
        for (int copy = 1; chain.End != ChainEnd.Sound && copy < table.Layout.Copies.Count; copy++)
        {
            Chain other = Follow(first, wanted, most, copy);
            if (other.End == ChainEnd.Sound)
                return other;
        }

        return chain;
    }

    private Chain Follow(uint first, long? wanted, long most, int preferred)
    {
        var runs = new RunBuilder();
        uint at = first, mark = first;
        long nextMark = 1;
        bool differ = false;
        while (true)
        {
            runs.Add(at);
            if (IsTangled(at))
                return runs.Finish(ChainEnd.Tangled, differ);
            Link link = Next(at, preferred, ref differ);
            ChainEnd? end = EndAt(link, runs.Clusters, wanted, most);
            if (end is { } reason)
                return runs.Finish(reason, differ);
            at = link.Next;
            if (at == mark)
                return UpToFirstRepeat(runs, differ);
            if (runs.Clusters == nextMark)
                (mark, nextMark) = (at, nextMark * 2);
        }
    }

    private static ChainEnd? EndAt(Link link, long clusters, long? wanted, long most)
    {
        if (wanted is { } count && clusters == count)
            return link.Kind == LinkKind.Next ? ChainEnd.Longer : EndOf(link.Kind);
        ChainEnd? end = link.Kind == LinkKind.Next ? null : EndOf(link.Kind);
        if (end == ChainEnd.Sound && wanted is not null)
            return ChainEnd.Shorter;
        return end is null && clusters >= most ? ChainEnd.Broken : end;
    }

    private static ChainEnd? EndOf(LinkKind kind) => kind switch
    {
        LinkKind.Next => null,
        LinkKind.End => ChainEnd.Sound,
        LinkKind.NotHeld => ChainEnd.NotHeld,
        LinkKind.Free or LinkKind.Bad or LinkKind.Damaged => ChainEnd.Broken,
    };

    private Link Next(uint cluster, int preferred, ref bool differ)
    {
        Link link = table.ReadAny(cluster, preferred);
        for (int copy = 0; copy < table.Layout.Copies.Count; copy++)
        {
            Link other = copy == preferred ? link : table.Read(cluster, copy);
            differ |= other.Kind != LinkKind.NotHeld && other != link;
        }

        return link;
    }

    private bool IsTangled(uint cluster)
    {
        if (_seen.Add(cluster))
            _firstVisits++;
        else
            _revisits++;
        return _revisits > SpareRevisits + (RevisitsPerCluster * _firstVisits);
    }

    private static Chain UpToFirstRepeat(RunBuilder walked, bool differ)
    {
        var kept = new RunBuilder();
        var seen = new ClusterSet();
        foreach (ClusterRun run in walked.Runs)
        {
            for (uint i = 0; i < run.Count; i++)
            {
                if (!seen.Add(run.First + i))
                    return kept.Finish(ChainEnd.Loop, differ);
                kept.Add(run.First + i);
            }
        }

        return kept.Finish(ChainEnd.Loop, differ);
    }
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
