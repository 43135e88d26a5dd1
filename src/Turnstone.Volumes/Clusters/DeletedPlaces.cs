namespace Turnstone.Volumes.Clusters;

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
