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
        var walk = new FolderWalk(volume, _allocation);
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
        var walk = new FolderWalk(volume, _allocation);
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

/// <summary>Says where a live file's bytes lie and how sure that is.</summary>
internal sealed class LivePlaces(ClusterVolume volume, ClusterMap allocation, Claims live)
{
    public FileContent? Judge(PlacedEntry placed, List<string> notes, ref Certainty certainty)
    {
        (FoundEntry found, Chain chain) = (placed.Found, placed.Chain);
        long wanted = volume.Heap.ClustersFor(found.Size);
        certainty = FolderTree.Least(certainty, OfChain(chain, found.IsFolder && found.Size == 0 ? null : wanted, notes));
        if (chain.Runs.Any(live.AnyShared))
            certainty = Note(notes, "another entry claims some of the same clusters", Certainty.Guessed);
        if (chain.Runs.Any(run => allocation.Over(run) == Usage.Free))
            certainty = FolderTree.Least(certainty, Note(notes, "the volume calls its clusters free", Certainty.Likely));
        if (found.IsFolder)
            return null;
        if (found.Size <= volume.Heap.Bytes)
            return new StoredContent(Extents(volume, found, chain));
        certainty = Certainty.Guessed;
        return new UnreadableContent(volume.Heap.Bytes, $"its entry gives it {found.Size} bytes, more than the volume has");
    }

    /// <summary>The stretches of a file: stored as far as it was written and its clusters are known, zeros behind what was written.</summary>
    internal static IReadOnlyList<Extent> Extents(ClusterVolume volume, FoundEntry found, Chain chain)
    {
        long written = Math.Min(found.Written, found.Size);
        var stored = new ExtentList(written);
        foreach (ClusterRun run in chain.Runs)
        {
            ByteRange place = volume.OnSource(volume.Heap.Place(run));
            stored.Add(Extent.At(place.Offset, place.Length));
        }

        var all = new ExtentList(found.Size);
        foreach (Extent extent in stored.Finish())
            all.Add(extent);
        return all.Add(Extent.Zeros(found.Size - written)).Finish();
    }

    private static Certainty OfChain(Chain chain, long? wanted, List<string> notes)
    {
        Certainty certainty = chain.End switch
        {
            ChainEnd.Sound => Certainty.Sure,
            ChainEnd.Longer => Note(notes, "its chain goes on behind its last byte", Certainty.Likely),
            ChainEnd.Shorter => Note(notes, "its chain ends before its last byte", Certainty.Guessed),
            // Where all its clusters are known the missing link would only have said that it ends there.
            ChainEnd.NotHeld => chain.Clusters == wanted ? Certainty.Sure : Note(notes, "a part of its chain is not held", Certainty.Likely),
            ChainEnd.Broken => Note(notes, "its chain leads to a cluster that is free, bad or not there", Certainty.Guessed),
            ChainEnd.Loop => Note(notes, "its chain comes back to itself", Certainty.Guessed),
            ChainEnd.Tangled => Note(notes, "too many chains lead through its clusters", Certainty.Guessed),
        };
        return chain.CopiesDiffer ? FolderTree.Least(certainty, Note(notes, "the copies of the allocation table disagree on its chain", Certainty.Likely)) : certainty;
    }

    private static Certainty Note(List<string> notes, string note, Certainty certainty)
    {
        notes.Add(note);
        return certainty;
    }
}

/// <summary>Says where a deleted file's bytes most likely lie, as long as nothing else took their place.</summary>
internal sealed class DeletedPlaces(ClusterVolume volume, ClusterMap allocation, Claims live, Claims deleted)
{
    public FileContent? Judge(PlacedEntry placed, List<string> notes, ref Certainty certainty)
    {
        (FoundEntry found, Chain chain) = (placed.Found, placed.Chain);
        certainty = FolderTree.Least(certainty, Certainty.Likely);
        if (found.IsFolder)
            return null;
        if (WhyGone(found, chain) is { } why)
            return new UnreadableContent(Math.Min(found.Size, volume.Heap.Bytes), why);
        if (!found.InARow && found.Size > 0)
            certainty = Certainty.Guessed;
        if (chain.Runs.Any(deleted.AnyShared))
        {
            notes.Add("another deleted entry claims some of the same clusters");
            certainty = Certainty.Guessed;
        }

        return new StoredContent(LivePlaces.Extents(volume, found, chain));
    }

    private string? WhyGone(FoundEntry found, Chain chain)
    {
        if (found.Size > 0 && chain.Runs.Count == 0)
            return "deleted; its entry names no place that the volume has";
        if (chain.Runs.Any(run => allocation.Over(run) == Usage.Used) || chain.Runs.Any(live.Any))
            return "deleted; its place is in use again";
        return chain.Runs.Any(run => allocation.Over(run) == Usage.Unknown) ? "deleted; whether its place is still free is not held" : null;
    }
}
