using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>What lies in clusters that are in use, or may be, and that no entry claims: folders, and chains of the table.</summary>
/// <remarks>In a sound volume there are none, so this costs nothing there.</remarks>
internal sealed class LostClusters(ClusterVolume volume, ClusterMap allocation, Claims live)
{
    // A place of our own for what has lost its folder.
    private static readonly EntryPath s_standIn = EntryPath.Root["lost+found"];
    private static readonly Folder s_in = new(s_standIn, null) { Certainty = Certainty.Guessed, Origin = Origin.Scan };

    /// <summary>Folders that no entry leads to, those that stand in no other one first.</summary>
    /// <param name="chains">Follows their chains.</param>
    /// <param name="known">Paths of the folders that entries lead to, by first cluster; 0 is the root.</param>
    public IReadOnlyList<PlacedEntry> Folders(ChainReader chains, IReadOnlyDictionary<uint, EntryPath> known)
    {
        var traces = new SortedDictionary<uint, FolderTrace>();
        foreach (uint cluster in Unclaimed().SelectMany(HeldStarts))
        {
            if (volume.FolderAt(cluster) is { } trace)
                traces[cluster] = trace;
        }

        HashSet<uint> inner = [.. traces.Values.SelectMany(trace => trace.Children)];
        bool IsInner(FolderTrace trace) => inner.Contains(trace.Cluster) || (trace.Parent is { } parent && parent != trace.Cluster && traces.ContainsKey(parent));
        return [.. traces.Values.OrderBy(IsInner).Select(trace => Place(trace, chains, known))];
    }

    /// <summary>Chains of the table that no entry starts: the content of files whose entries are lost, their sizes rounded up to clusters.</summary>
    public IEnumerable<PlacedEntry> Files(ChainReader chains)
    {
        var table = new AllocationTable(volume.Part, volume.Table);
        var targets = new ClusterSet();
        foreach (uint cluster in UnclaimedUsed())
        {
            if (table.ReadAny(cluster, preferred: 0) is { Kind: LinkKind.Next } link)
                targets.Add(link.Next);
        }

        foreach (uint head in UnclaimedUsed().Where(cluster => !targets.Contains(cluster)))
        {
            if (chains.Read(head, wanted: null) is { End: ChainEnd.Sound } chain)
                yield return File(head, chain);
        }
    }

    private IEnumerable<ClusterRun> Unclaimed() => allocation.NotFree(volume.Heap).SelectMany(live.Without);

    private IEnumerable<uint> UnclaimedUsed()
    {
        foreach (ClusterRun run in allocation.Runs().Where(known => known.Usage == Usage.Used).SelectMany(known => live.Without(known.Run)))
        {
            for (uint i = 0; i < run.Count; i++)
                yield return run.First + i;
        }
    }

    /// <summary>Clusters of a run of which some bytes from the start are held.</summary>
    private IEnumerable<uint> HeldStarts(ClusterRun run)
    {
        ClusterHeap heap = volume.Heap;
        foreach (ByteRange held in Stretches.HeldIn(volume.Part, heap.Place(run)))
        {
            long first = (held.Offset - heap.Start + heap.ClusterBytes - 1) / heap.ClusterBytes;
            for (long i = first; heap.Start + (i * heap.ClusterBytes) < held.End; i++)
                yield return (uint)(i + ClusterHeap.FirstCluster);
        }
    }

    private PlacedEntry Place(FolderTrace trace, ChainReader chains, IReadOnlyDictionary<uint, EntryPath> known)
    {
        Chain chain = chains.Read(trace.Cluster, wanted: null, volume.MostFolderBytes / volume.Heap.ClusterBytes);
        var found = new FoundEntry
        {
            Name = $"folder at cluster {trace.Cluster}",
            IsFolder = true,
            FirstCluster = trace.Cluster,
            Certainty = Certainty.Guessed,
            Notes = ["found by searching; the entry with its name is lost"],
        };
        EntryPath parent = trace.Parent is { } cluster && known.TryGetValue(cluster, out EntryPath? path) ? path : s_standIn;
        return new PlacedEntry(parent[found.Name], found, chain.IsComplete ? chain : Chain.Row(trace.Cluster, 1), s_in);
    }

    private PlacedEntry File(uint head, Chain chain)
    {
        long bytes = chain.Clusters * volume.Heap.ClusterBytes;
        var found = new FoundEntry
        {
            Name = $"chain at cluster {head}",
            IsFolder = false,
            FirstCluster = head,
            Size = bytes,
            Written = bytes,
            Certainty = Certainty.Guessed,
            Notes = ["the entry of this file is lost; its size is rounded up to whole clusters"],
        };
        return new PlacedEntry(s_standIn[found.Name], found, chain, s_in);
    }
}
