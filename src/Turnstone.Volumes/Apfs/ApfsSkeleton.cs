using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Where the metadata of a volume lies, most telling first.</summary>
internal static class ApfsSkeleton
{
    public static IEnumerable<ByteRange> Of(ContainerState state, VolumeState? volume) =>
        Groups(state, volume).SelectMany(group => Ranges(state.Blocks, group));

    private static IEnumerable<IEnumerable<BlockRun>> Groups(ContainerState state, VolumeState? volume)
    {
        yield return [new BlockRun(0, 1), .. state.Ring.Runs];
        yield return Single(state.Map.Nodes);
        yield return Single(state.Map.Latest.Select(m => m.Address));
        if (volume is not null)
        {
            yield return Single(volume.Map.Nodes);
            yield return Single(volume.Map.Latest.Where(m => !m.IsDeleted).Select(m => m.Address));
        }

        yield return state.Current.Ephemerals(state.Ring).Values.Select(p => new BlockRun(p.Address, (p.Bytes + (ulong)state.Blocks.BlockBytes - 1) / (ulong)state.Blocks.BlockBytes));
        yield return Single(state.Space.OwnBlocks);
        if (volume is not null)
            yield return Single(volume.Snapshots.Nodes.Concat(volume.Map.Older.Select(m => m.Address)));
        yield return [state.Current.Superblock.KeyLocker];
    }

    private static IEnumerable<BlockRun> Single(IEnumerable<ulong> addresses) => addresses.Select(address => new BlockRun(address, 1));

    /// <summary>Runs in the order of the disk, neighbours joined; what lies outside the container is left out.</summary>
    private static IEnumerable<ByteRange> Ranges(ContainerBlocks blocks, IEnumerable<BlockRun> runs)
    {
        BlockRun last = default;
        foreach (BlockRun run in runs.Where(r => r.Count > 0 && blocks.Contains(r.Start, r.Count)).OrderBy(r => r.Start))
        {
            if (last.Count > 0 && run.Start <= last.Start + last.Count)
            {
                last = new BlockRun(last.Start, Math.Max(last.Count, run.Start + run.Count - last.Start));
                continue;
            }

            if (last.Count > 0)
                yield return blocks.Place(last.Start, last.Count);
            last = run;
        }

        if (last.Count > 0)
            yield return blocks.Place(last.Start, last.Count);
    }
}
