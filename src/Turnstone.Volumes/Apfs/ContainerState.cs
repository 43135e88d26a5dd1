using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>What is remembered of a container between calls: where it is, and what a search has found in it.</summary>
/// <param name="Ground">Where it lies.</param>
/// <param name="First">The superblock that it was recognised by; the checkpoint area's place never changes.</param>
/// <param name="Scan">The search for nodes.</param>
internal sealed record Container(ContainerGround Ground, ContainerSuperblock First, NodeScan Scan);

/// <summary>A container as the bytes held at one moment show it.</summary>
internal sealed class ContainerState
{
    private readonly Lazy<SpaceManager> _space;

    private ContainerState(Container container, ContainerBlocks blocks, CheckpointRing ring, Checkpoint current, IReadOnlyList<Checkpoint> older)
    {
        (Container, Blocks, Ring, Current, Older) = (container, blocks, ring, current, older);
        Map = ObjectMap.Read(blocks, current.Superblock.ObjectMapAddress, current.Xid);
        _space = new Lazy<SpaceManager>(() => SpaceManager.Read(blocks, current, ring));
    }

    public Container Container { get; }

    public ContainerBlocks Blocks { get; }

    public CheckpointRing Ring { get; }

    /// <summary>The newest state that is held.</summary>
    public Checkpoint Current { get; }

    /// <summary>States before it, newest first.</summary>
    public IReadOnlyList<Checkpoint> Older { get; }

    /// <summary>Where the volumes' superblocks lie.</summary>
    public ObjectMap Map { get; }

    public SpaceManager Space => _space.Value;

    public static ContainerState Look(Container container)
    {
        var blocks = new ContainerBlocks(container.Ground);
        var ring = new CheckpointRing(blocks, container.First);
        ContainerSuperblock? copy = Copy(blocks);
        var found = ring.Superblocks().Where(f => f.Superblock.Uuid == container.First.Uuid)
            .Select(f => new Checkpoint(f.Superblock, f.Address, Weigh(ring, f.Index, f.Superblock.Xid, copy))).ToList();
        copy ??= container.First;
        if (found.Count == 0 || found[0].Xid < copy.Xid)
            found.Insert(0, new Checkpoint(copy, 0, WeighCopy(ring, copy) & new Trust(Origin.Copy, Certainty.Sure)));
        return new ContainerState(container, blocks, ring, found[0], found[1..]);
    }

    /// <summary>The superblock in block 0, which is written when the volume is put away.</summary>
    private static ContainerSuperblock? Copy(ContainerBlocks blocks) =>
        blocks.Read(0).OrNone is { } first ? ContainerSuperblock.Read(first.Bytes.Span).OrNone : null;

    private static Trust WeighCopy(CheckpointRing ring, ContainerSuperblock copy) => ring.Count == 0
        ? new Trust(Origin.Journal, Certainty.Guessed)
        : Weigh(ring, (copy.DescriptorIndex + (ulong)copy.DescriptorLength + ring.Count - 1) % ring.Count, copy.Xid, copy);

    private static Trust Weigh(CheckpointRing ring, ulong index, ulong xid, ContainerSuperblock? copy)
    {
        if (ring.IsLast(index, xid))
            return default;
        return copy?.Xid == xid ? new Trust(Origin.Table, Certainty.Likely) : new Trust(Origin.Journal, Certainty.Guessed);
    }
}
