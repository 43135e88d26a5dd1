namespace Turnstone.Volumes.HfsPlus;

/// <summary>Where a fork's bytes lie, how sure that is, and what was wrong with it.</summary>
internal sealed record ForkPlace(long Size, IReadOnlyList<Extent> Extents, Certainty Certainty, Origin Origin, IReadOnlyList<string> Notes)
{
    public FileContent Content => new StoredContent(Extents);
}

/// <summary>Turns forks into stretches of the source.</summary>
internal sealed class ForkPlaces(VolumeShape shape, long sourceOffset, Lazy<ExtentsOverflow> overflow)
{
    private const int ManyRuns = 64;
    private readonly Dictionary<(uint Id, ForkKind Kind, bool Old), ForkPlace> _long = [];

    /// <summary>Runs of a fork with the block of the file at which each starts, as far as they are known; gaps are left out.</summary>
    /// <remarks>For an old fork, records that the overflow file has given up count, too.</remarks>
    public IEnumerable<FileRun> Runs(ForkData fork, uint id, ForkKind kind, bool old = false)
    {
        long block = 0;
        foreach (BlockRun run in fork.Runs)
        {
            yield return new FileRun(block, run);
            block += run.Count;
        }

        if (block >= fork.TotalBlocks)
            yield break;
        foreach (OverflowRecord record in Further(id, kind, old).Where(r => r.FirstBlock >= block))
        {
            block = record.FirstBlock;
            foreach (BlockRun run in record.Runs)
            {
                yield return new FileRun(block, run);
                block += run.Count;
            }
        }
    }

    public ForkPlace Place(ForkData fork, uint id, ForkKind kind, bool old = false)
    {
        if (_long.TryGetValue((id, kind, old), out ForkPlace? known))
            return known;
        ForkPlace place = Find(fork, id, kind, old);
        // a file with many links is asked for once for each
        if (place.Extents.Count > ManyRuns)
            _long[(id, kind, old)] = place;
        return place;
    }

    private ForkPlace Find(ForkData fork, uint id, ForkKind kind, bool old)
    {
        if (fork.LogicalSize > (ulong)shape.Bytes)
            return new ForkPlace(shape.Bytes, [Extent.Unknown(shape.Bytes)], Certainty.Guessed, Origin.Table, [$"size {fork.LogicalSize} is more than the volume holds"]);
        long size = (long)fork.LogicalSize;
        var list = new ExtentList(size);
        bool inside = true;
        foreach (FileRun run in Runs(fork, id, kind, old))
        {
            list.Add(Extent.Unknown(Math.Max(0, Math.Min(size, run.FirstBlock * shape.BlockBytes) - list.Covered)));
            inside &= shape.Allows(run.Run);
            list.Add(At(run.Run));
        }

        return Judge(fork, list, inside, UsedOverflow(fork, id, kind, old));
    }

    private ForkPlace Judge(ForkData fork, ExtentList list, bool inside, OverflowRecord? least)
    {
        var notes = new List<string>();
        if (!inside)
            notes.Add("a run of blocks lies outside the volume");
        if (!list.IsComplete)
            notes.Add(overflow.Value.IsComplete ? "its runs of blocks are fewer than its size needs" : "some of its runs of blocks are not held");
        if ((ulong)fork.TotalBlocks * (ulong)shape.BlockBytes < fork.LogicalSize)
            notes.Add($"{fork.TotalBlocks} blocks are too few for its size");
        Certainty certainty = least is null ? Certainty.Sure : CertaintyOf(least.Standing);
        return new ForkPlace((long)fork.LogicalSize, list.Finish(), notes.Count > 0 && certainty == Certainty.Sure ? Certainty.Likely : certainty, least?.Origin ?? Origin.Table, notes);
    }

    /// <summary>How sure a fact is that was read in such a node.</summary>
    public static Certainty CertaintyOf(Standing standing) => standing switch
    {
        Standing.Reached => Certainty.Sure,
        Standing.Chained or Standing.Mapped => Certainty.Likely,
        Standing.Loose or Standing.Stale => Certainty.Guessed,
    };

    private Extent At(BlockRun run)
    {
        long bytes = (long)run.Count * shape.BlockBytes;
        return shape.Allows(run) ? Extent.At(sourceOffset + ((long)run.Start * shape.BlockBytes), bytes) : Extent.Unknown(bytes);
    }

    private OverflowRecord? UsedOverflow(ForkData fork, uint id, ForkKind kind, bool old) =>
        fork.Runs.Sum(r => (long)r.Count) < fork.TotalBlocks ? Further(id, kind, old).MaxBy(r => r.Standing) : null;

    private IEnumerable<OverflowRecord> Further(uint id, ForkKind kind, bool old) =>
        overflow.Value.Of(id, kind).Where(r => old || r.Standing != Standing.Stale);
}
