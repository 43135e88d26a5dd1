using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>An entry with the clusters that it claims.</summary>
internal sealed record PlacedEntry(EntryPath Path, FoundEntry Found, Chain Chain, Folder In);

/// <summary>One pass over the folders of a volume, from the root down: live ones, then those whose own bytes contradict the entry that led to them, then deleted ones.</summary>
/// <remarks>A folder's cluster is read once: a folder that holds itself, an ancestor or another's clusters ends there.</remarks>
/// <param name="volume">The volume.</param>
/// <param name="allocation">What is in use.</param>
/// <param name="live">Who claims what, once that is known.</param>
internal sealed class FolderWalk(ClusterVolume volume, ClusterMap allocation, Claims? live = null)
{
    // Deeper than any system makes them (32,767 letters in a path at most), and shallow enough for recursive callers.
    private const int Deepest = 1024;
    private readonly IFolderReader _reader = volume.NewFolderReader();
    private readonly ClusterSet _read = new();
    private readonly Queue<Folder> _live = new(), _doubtful = new(), _deleted = new();

    public ChainReader Chains { get; } = new(new AllocationTable(volume.Part, volume.Table));

    /// <summary>The chains that the file system itself uses, the root's among them.</summary>
    public IEnumerable<Chain> SystemChains()
    {
        Folder root = volume.Root(Chains);
        return root.Chain is { } chain ? volume.SystemChains(Chains).Prepend(chain) : volume.SystemChains(Chains);
    }

    /// <summary>Every entry that a folder on the way from the root shows.</summary>
    public IEnumerable<PlacedEntry> FromRoot()
    {
        _live.Enqueue(volume.Root(Chains));
        return Walk();
    }

    /// <summary>Folders found by searching, each with what is in it, unless it was read before.</summary>
    public IEnumerable<PlacedEntry> From(IEnumerable<PlacedEntry> found)
    {
        foreach (PlacedEntry folder in found.Where(folder => !_read.Contains(folder.Found.FirstCluster)))
        {
            yield return folder;
            _live.Enqueue(new Folder(folder.Path, folder.Chain) { Certainty = Certainty.Guessed, Origin = Origin.Scan, Depth = folder.In.Depth + 1 });
            foreach (PlacedEntry placed in Walk())
                yield return placed;
        }
    }

    private IEnumerable<PlacedEntry> Walk()
    {
        while (_live.TryDequeue(out Folder? folder) || _doubtful.TryDequeue(out folder) || _deleted.TryDequeue(out folder))
        {
            foreach (FoundEntry found in _reader.Read(StretchesOf(folder), folder))
            {
                var placed = new PlacedEntry(folder.Path[found.Name], found.Deleted || !folder.Deleted ? found : found with { Deleted = true }, ChainOf(found, folder), folder);
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
        bool isDoubtful = !found.Deleted && IsDoubtful(placed);
        var folder = new Folder(placed.Path, placed.Chain)
        {
            Certainty = FolderTree.Least(placed.In.Certainty, found.Deleted || isDoubtful ? Certainty.Guessed : found.Certainty),
            Origin = placed.In.Origin,
            Deleted = found.Deleted,
            Depth = placed.In.Depth + 1,
        };
        (found.Deleted ? _deleted : isDoubtful ? _doubtful : _live).Enqueue(folder);
    }

    private bool IsDoubtful(PlacedEntry placed) => placed.Chain.IsDoubtful
        || (placed.Chain.Runs.Count > 0 && volume.Vouches(placed.Found.FirstCluster, placed.In) == false)
        || (live is not null && placed.Chain.Runs.Any(live.AnyShared));

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
        if (wanted == 0)
            return Chain.Empty;
        return tableTells ? Chains.Read(found.FirstCluster, wanted: null, most) : Chains.Read(found.FirstCluster, wanted);
    }

    /// <summary>Deleting mostly clears the chain; where it still stands and fits the size it says more than a guess.</summary>
    private Chain DeletedChain(FoundEntry found, long wanted)
    {
        if (!found.InARow && wanted > 1 && Chains.Read(found.FirstCluster, wanted) is { End: ChainEnd.Sound } chain)
            return chain;
        return Row(found.FirstCluster, wanted);
    }

    private Chain Row(uint first, long count) => count == 0 ? Chain.Empty : volume.Heap.Holds(first, count) ? Chain.Row(first, count) : Chain.Broken;
}
