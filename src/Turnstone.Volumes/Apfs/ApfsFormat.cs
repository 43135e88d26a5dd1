using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Apple File System, as external drives of the last years carry it.</summary>
/// <remarks>
/// Source of every layout in this folder: Apple, Apple File System Reference, 2020 (from memory), checked against
/// volumes that other authors' tools wrote.
/// </remarks>
internal sealed class ApfsFormat : IVolumeFormat
{
    /// <summary>A superblock is looked for so far from the start when block 0 tells nothing: formatting tools put the checkpoint area right behind it.</summary>
    private const long SearchedBytes = 64 << 20;

    private const int SmallestBlock = 4096;
    private const int LargestBlock = 65_536;

    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        if (FirstSuperblock(part) is not { } first)
            return [];
        var ground = new ContainerGround(part, first.BlockBytes, first.Blocks);
        if (ground.Length == 0 || !new CheckpointRing(new ContainerBlocks(ground), first).LiesHere())
            return [];
        var container = new Container(ground, first, new NodeScan(ground));
        IReadOnlyList<ulong> oids = ContainerState.Look(container).Current.Superblock.VolumeOids;
        return oids.Count == 0
            ? [new ApfsVolume(container, 0, name)]
            : [.. oids.Select((oid, i) => new ApfsVolume(container, oid, $"{name}.v{i + 1}"))];
    }

    private static ContainerSuperblock? FirstSuperblock(PartView part)
    {
        var start = new byte[LargestBlock];
        bool isHeld = part.TryRead(0, start.AsSpan(0, SmallestBlock));
        if (!isHeld)
            return Search(part);
        if (!ContainerSuperblock.Claims(start))
            return IsWiped(start) ? Search(part) : null;
        int size = ContainerSuperblock.ClaimedBlockBytes(start);
        return size > 0 && part.TryRead(0, start.AsSpan(0, size)) && ContainerSuperblock.Read(start.AsSpan(0, size)).OrNone is { } first
            ? first
            : Search(part);
    }

    /// <summary>Whether the first block was overwritten with nothing: another file system would have left its own there.</summary>
    private static bool IsWiped(ReadOnlySpan<byte> start) => !start[..SmallestBlock].ContainsAnyExcept(start[0]);

    /// <summary>The newest superblock of a checkpoint area that nothing points to.</summary>
    private static ContainerSuperblock? Search(PartView part)
    {
        ContainerSuperblock? newest = null;
        var block = new byte[LargestBlock];
        long end = Math.Min(SearchedBytes, part.Length);
        for (long at = 0; at + SmallestBlock <= end; at += SmallestBlock)
        {
            part.TryRead(at, block.AsSpan(0, SmallestBlock));
            int size = ContainerSuperblock.ClaimedBlockBytes(block.AsSpan(0, SmallestBlock));
            if (size > 0 && at % size == 0 && part.TryRead(at, block.AsSpan(0, size))
                && ContainerSuperblock.Read(block.AsSpan(0, size)).OrNone is { } found && found.Xid > (newest?.Xid ?? 0) && IsAtHome(found, at))
                newest = found;
        }

        return newest;
    }

    /// <summary>Whether it lies where it says that the checkpoint area is: one of a container that starts elsewhere on the disk does not.</summary>
    private static bool IsAtHome(ContainerSuperblock found, long at) =>
        !found.IsScattered && (ulong)(at / found.BlockBytes) - found.DescriptorArea.Start < found.DescriptorArea.Count;
}
