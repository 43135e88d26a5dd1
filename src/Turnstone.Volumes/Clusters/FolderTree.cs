using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>The entries of a volume: one pass collects who claims which cluster, a second one judges each entry by it.</summary>
internal sealed class FolderTree(ClusterVolume volume)
{
    private readonly ClusterMap _allocation = volume.Allocation();
    private readonly Claims _live = new();
    private readonly Claims _deleted = new();

    public IEnumerable<Entry> Entries()
    {
        IReadOnlyList<PlacedEntry> lost = Collect();
        var walk = new FolderWalk(volume, _allocation, _live);
        IEnumerable<PlacedEntry> lostFiles = new LostClusters(volume, _allocation, _live).Files(walk.Chains);
        return walk.FromRoot().Concat(walk.From(lost)).Concat(lostFiles).Select(Judge);
    }

    /// <summary>Where the root and what the file system itself uses lie.</summary>
    public IEnumerable<ByteRange> SystemPlaces() =>
        new FolderWalk(volume, _allocation).SystemChains().SelectMany(chain => chain.Runs).Select(volume.Heap.Place).Prepend(volume.RootPlace).Where(place => !place.IsEmpty);

    /// <summary>Where the folders lie, in the order in which they are met.</summary>
    public IEnumerable<ByteRange> FolderPlaces()
    {
        IReadOnlyList<PlacedEntry> lost = Collect();
        var walk = new FolderWalk(volume, _allocation, _live);
        return walk.FromRoot().Concat(walk.From(lost)).Where(placed => placed.Found.IsFolder).SelectMany(placed => placed.Chain.Runs).Select(volume.Heap.Place);
    }

    /// <summary>Collects the claims of all entries; answers with the folders that no entry leads to.</summary>
    private IReadOnlyList<PlacedEntry> Collect()
    {
        var walk = new FolderWalk(volume, _allocation);
        var paths = new Dictionary<uint, EntryPath> { [0] = EntryPath.Root };
        foreach (Chain chain in walk.SystemChains())
            Claim(_live, chain);
        foreach (PlacedEntry placed in walk.FromRoot())
        {
            Claim(placed);
            if (placed.Found is { IsFolder: true, Deleted: false })
                paths.TryAdd(placed.Found.FirstCluster, placed.Path);
        }

        Settle();
        IReadOnlyList<PlacedEntry> lost = new LostClusters(volume, _allocation, _live).Folders(walk.Chains, paths);
        foreach (PlacedEntry placed in walk.From(lost))
            Claim(placed);
        if (lost.Count > 0)
            Settle();
        return lost;
    }

    private void Settle()
    {
        _live.Settle();
        _deleted.Settle();
    }

    private void Claim(PlacedEntry placed) => Claim(placed.Found.Deleted ? _deleted : _live, placed.Chain);

    private static void Claim(Claims claims, Chain chain)
    {
        foreach (ClusterRun run in chain.Runs)
            claims.Add(run);
    }

    private Entry Judge(PlacedEntry placed)
    {
        FoundEntry found = placed.Found;
        var notes = new List<string>(found.Notes);
        Certainty certainty = Least(found.Certainty, placed.In.Certainty);
        FileContent? content = null;
        if (found.Deleted)
            content = new DeletedPlaces(volume, _allocation, _live, _deleted).Judge(placed, notes, ref certainty);
        else
            content = new LivePlaces(volume, _allocation, _live).Judge(placed, notes, ref certainty);
        return new Entry
        {
            Path = placed.Path,
            Kind = found.IsFolder ? EntryKind.Folder : EntryKind.File,
            Content = content,
            Deleted = found.Deleted,
            Times = found.Times,
            Attributes = found.Attributes,
            Origin = placed.In.Origin,
            Certainty = certainty,
            Number = found.FirstCluster == 0 ? null : found.FirstCluster,
            Notes = notes,
        };
    }

    internal static Certainty Least(Certainty left, Certainty right) => (Certainty)Math.Max((int)left, (int)right);
}
