using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>The area that holds the checkpoints' superblocks and maps, used round and round.</summary>
internal sealed class CheckpointRing
{
    /// <summary>Far more blocks than such an area ever has; a bound against a number that makes no sense.</summary>
    private const int MostBlocks = 1 << 12;

    private static readonly TreeShape ScatteredArea = new(ObjectKind.None, 8, 16);

    private readonly ContainerBlocks _blocks;
    private readonly List<BlockRun> _runs;

    /// <summary>Finds the ring's place.</summary>
    /// <param name="blocks">The container.</param>
    /// <param name="superblock">Any superblock of it: all tell the same area.</param>
    public CheckpointRing(ContainerBlocks blocks, ContainerSuperblock superblock)
    {
        _blocks = blocks;
        _runs = superblock.IsScattered ? Scattered(blocks, superblock.DescriptorArea.Start) : [superblock.DescriptorArea];
        Count = (ulong)_runs.Sum(run => (long)Math.Min(run.Count, MostBlocks));
        Count = Math.Min(Count, MostBlocks);
    }

    /// <summary>Blocks in the ring.</summary>
    public ulong Count { get; }

    public IEnumerable<BlockRun> Runs => _runs;

    public Parsed<ApfsObject> Read(ulong index) => _blocks.Read(Address(index));

    /// <summary>Every superblock that is held and proven, newest first.</summary>
    public IReadOnlyList<(ContainerSuperblock Superblock, ulong Index, ulong Address)> Superblocks()
    {
        var found = new List<(ContainerSuperblock Superblock, ulong Index, ulong Address)>();
        for (ulong i = 0; i < Count; i++)
        {
            if (Read(i).OrNone is { Header.Kind: ObjectKind.ContainerSuperblock } block && ContainerSuperblock.Read(block.Bytes.Span).OrNone is { } superblock)
                found.Add((superblock, i, block.Address));
        }

        return [.. found.OrderByDescending(f => f.Superblock.Xid)];
    }

    /// <summary>Whether the checkpoint maps lie where they say, and the area holds checkpoints at all: that of a container that starts elsewhere does not.</summary>
    public bool LiesHere()
    {
        bool mayHoldOne = false;
        for (ulong i = 0; i < Count; i++)
        {
            Parsed<ApfsObject> read = Read(i);
            if (read.OrNone is { Header.Kind: ObjectKind.CheckpointMap } map)
                return map.Header.Oid == map.Address;
            mayHoldOne |= read is Parsed<ApfsObject>.NotHeld or Parsed<ApfsObject>.Value { Item.Header.Kind: ObjectKind.ContainerSuperblock };
        }

        return mayHoldOne;
    }

    /// <summary>Whether the ring shows that no later checkpoint was begun behind this superblock.</summary>
    /// <param name="index">Its place in the ring.</param>
    /// <param name="xid">Its transaction.</param>
    public bool IsLast(ulong index, ulong xid)
    {
        ulong address = Address((index + 1) % Count);
        var block = new byte[_blocks.BlockBytes];
        if (!_blocks.TryReadPlain(address, block))
            return false;
        // A damaged block of a later checkpoint still tells that there was one.
        ObjectHeader next = ObjectHeader.Read(block);
        return next.Xid <= xid || next.Kind is not (ObjectKind.ContainerSuperblock or ObjectKind.CheckpointMap);
    }

    private ulong Address(ulong index)
    {
        foreach (BlockRun run in _runs)
        {
            if (index < run.Count)
                return run.Start + index;
            index -= run.Count;
        }

        return ulong.MaxValue;
    }

    private static List<BlockRun> Scattered(ContainerBlocks blocks, ulong root)
    {
        var runs = new List<BlockRun>();
        var walk = new TreeWalk(oid => blocks.Read(oid).OrNone is { } found
            && TreeNode.Read(found, ScatteredArea with { Of = found.Header.TreeOf }).OrNone is { } node ? new FoundNode(node, default) : null);
        foreach (TreePart part in walk.Parts(root))
        {
            for (int i = 0; part.Node is { IsLeaf: true } leaf && i < leaf.Count && leaf.Value(i).Length == 16; i++)
            {
                ReadOnlySpan<byte> value = leaf.Value(i).Span;
                runs.Add(new BlockRun(BinaryPrimitives.ReadUInt64LittleEndian(value), BinaryPrimitives.ReadUInt64LittleEndian(value[8..])));
            }
        }

        return runs;
    }
}
