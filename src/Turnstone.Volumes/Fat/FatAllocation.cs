using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Fat;

/// <summary>What the allocation table says of every cluster, as far as some copy of it is held.</summary>
internal sealed class FatAllocation(ISectorView volume, TableLayout layout)
{
    public ClusterMap Read()
    {
        var map = new ClusterMap();
        var table = new AllocationTable(volume, layout);
        foreach (ClusterRun run in ClustersWithHeldEntries())
        {
            for (uint cluster = run.First; cluster <= run.Last; cluster++)
            {
                LinkKind kind = table.ReadAny(cluster, preferred: 0).Kind;
                if (kind != LinkKind.NotHeld)
                    map.Add(cluster, used: kind != LinkKind.Free);
            }
        }

        return map;
    }

    /// <summary>Clusters whose entry some copy of the table holds, in ascending order.</summary>
    private IEnumerable<ClusterRun> ClustersWithHeldEntries()
    {
        long next = ClusterHeap.FirstCluster;
        foreach (ByteRange held in HeldTableBytes())
        {
            long from = Math.Max(next, layout.ClusterAt(held.Offset));
            long to = Math.Min(layout.Heap.LastCluster, layout.ClusterAt(held.End - 1));
            if (to < from)
                continue;
            yield return new ClusterRun((uint)from, (uint)(to - from + 1));
            next = to + 1;
        }
    }

    /// <summary>Stretches of the table, in its own bytes, of which at least one copy is held; in ascending order.</summary>
    private IEnumerable<ByteRange> HeldTableBytes()
    {
        IEnumerable<ByteRange> all = layout.Copies.SelectMany(copy =>
            Stretches.HeldIn(volume, copy).Select(held => new ByteRange(held.Offset - copy.Offset, held.Length)));
        ByteRange last = default;
        foreach (ByteRange held in all.OrderBy(range => range.Offset))
        {
            if (!last.IsEmpty && held.Offset <= last.End)
            {
                last = ByteRange.Between(last.Offset, Math.Max(last.End, held.End));
                continue;
            }

            if (!last.IsEmpty)
                yield return last;
            last = held;
        }

        if (!last.IsEmpty)
            yield return last;
    }
}
