namespace Turnstone.Volumes.Clusters;

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
