using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>An entry with the clusters that it claims.</summary>
internal sealed record PlacedEntry(EntryPath Path, FoundEntry Found, Chain Chain, Folder In);

/// <summary>One pass over the folders of a volume, from the root down, deleted folders after all live ones.</summary>
/// <remarks>A folder's cluster is read once: a folder that holds itself, an ancestor or another's clusters ends there.</remarks>
internal sealed class FolderWalk(ClusterVolume volume, ClusterMap allocation)
{
    // Deeper than any system makes them (32,767 letters in a path at most), and shallow enough for recursive callers.
    private const int Deepest = 1024;
    private readonly ChainReader _chains = new(new AllocationTable(volume.Part, volume.Table));
    private readonly IFolderReader _reader = volume.NewFolderReader();
    private readonly ClusterSet _read = new();
    private readonly Queue<Folder> _live = new();
    private readonly Queue<Folder> _deleted = new();

    /// <summary>The chains that the file system itself uses, the root's among them.</summary>
    public IEnumerable<Chain> SystemChains()
    {
        Folder root = volume.Root(_chains);
        return root.Chain is { } chain ? volume.SystemChains(_chains).Prepend(chain) : volume.SystemChains(_chains);
    }

    /// <summary>Every entry that a folder on the way shows.</summary>
    public IEnumerable<PlacedEntry> Entries()
    {
        _live.Enqueue(volume.Root(_chains));
        while (_live.TryDequeue(out Folder? folder) || _deleted.TryDequeue(out folder))
        {
            foreach (FoundEntry found in _reader.Read(StretchesOf(folder), folder))
            {
                var placed = new PlacedEntry(folder.Path[found.Name], found with { Deleted = found.Deleted || folder.Deleted }, ChainOf(found, folder), folder);
                yield return placed;
                if (found.IsFolder)
                    Enqueue(placed);
            }
        }
    }

    private IEnumerable<Stretch> StretchesOf(Folder folder)
    {
        if (folder.Chain is not { } chain)
            return Stretches.Read(volume.Part, [volume.RootPlace], _ => true);
        uint last = 0;
        return Stretches.Read(volume.Part, chain.Runs.Select(volume.Heap.Place), place => AreNew(place, ref last));
    }

    private bool AreNew(ByteRange place, ref uint last)
    {
        ClusterHeap heap = volume.Heap;
        uint to = (uint)((place.End - 1 - heap.Start) / heap.ClusterBytes) + ClusterHeap.FirstCluster;
        for (uint at = (uint)((place.Offset - heap.Start) / heap.ClusterBytes) + ClusterHeap.FirstCluster; at <= to; at++)
        {
            if (at != last && !_read.Add(at))
                return false;
            last = at;
        }

        return true;
    }

    private void Enqueue(PlacedEntry placed)
    {
        FoundEntry found = placed.Found;
        if (placed.In.Depth >= Deepest || (found.Deleted && !placed.Chain.Runs.All(run => allocation.Over(run) == Usage.Free)))
            return;
        Certainty certainty = (Certainty)Math.Max((int)placed.In.Certainty, (int)(found.Deleted ? Certainty.Guessed : found.Certainty));
        var folder = new Folder(placed.Path, placed.Chain) { Certainty = certainty, Origin = placed.In.Origin, Deleted = found.Deleted, Depth = placed.In.Depth + 1 };
        (found.Deleted ? _deleted : _live).Enqueue(folder);
    }

    private Chain ChainOf(FoundEntry found, Folder folder)
    {
        bool tableTells = found is { IsFolder: true, Size: 0 };
        long most = volume.MostFolderBytes / volume.Heap.ClusterBytes;
        if (found.FirstCluster == 0 && (found.Size == 0 || found.IsFolder))
            return Chain.Empty;
        if (found.Size > volume.Heap.Bytes || (found.IsFolder && found.Size > volume.MostFolderBytes))
            return Chain.Broken;
        long wanted = tableTells ? 1 : volume.Heap.ClustersFor(found.Size);
        if (found.Deleted || folder.Deleted)
            return DeletedChain(found, wanted);
        if (found.InARow)
            return Row(found.FirstCluster, wanted);
        return tableTells ? _chains.Read(found.FirstCluster, wanted: null, most) : _chains.Read(found.FirstCluster, wanted);
    }

    /// <summary>Deleting mostly clears the chain; where it still stands and fits the size it says more than a guess.</summary>
    private Chain DeletedChain(FoundEntry found, long wanted)
    {
        if (!found.InARow && wanted > 1 && _chains.Read(found.FirstCluster, wanted) is { End: ChainEnd.Sound } chain)
            return chain;
        return Row(found.FirstCluster, wanted);
    }

    private Chain Row(uint first, long count) => count == 0 ? Chain.Empty : volume.Heap.Holds(first, count) ? Chain.Row(first, count) : Chain.Broken;
}
