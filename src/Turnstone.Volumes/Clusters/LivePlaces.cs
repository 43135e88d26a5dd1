using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

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
