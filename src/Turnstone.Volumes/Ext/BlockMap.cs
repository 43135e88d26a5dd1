namespace Turnstone.Volumes.Ext;

/// <summary>The map in an inode, ready to be followed.</summary>
/// <param name="Bytes">The 60 bytes.</param>
/// <param name="IsTree">Whether it is the root of an extent tree; block numbers otherwise.</param>
/// <param name="Seed">Start of the sums of the tree's blocks.</param>
/// <param name="Size">Bytes of the file.</param>
internal readonly record struct MapRoot(ReadOnlyMemory<byte> Bytes, bool IsTree, uint Seed, long Size)
{
    public static MapRoot Of(in ExtInode inode, ExtSuperblock super) =>
        new(inode.Map, inode.Flags.HasFlag(InodeFlags.Extents), inode.Seed(super), inode.Size(super));
}

/// <summary>Where a file's bytes lie.</summary>
/// <param name="Extents">Its stretches.</param>
/// <param name="Trust">How far they can be relied on, the inode's own trust not counted.</param>
/// <param name="Note">What contradicted itself; null where nothing did.</param>
internal readonly record struct FileMap(IReadOnlyList<Extent> Extents, Trust Trust, string? Note);

/// <summary>Reads the map of a file: an extent tree, or the older direct and indirect blocks.</summary>
/// <remarks>
/// Layout: Linux kernel 6.1 documentation, filesystems/ext4, 'The Contents of inode.i_block'. A block of a map belongs to
/// one file only, so each is followed once in a listing: that ends loops, and keeps a bent map from costing more than its bytes.
/// </remarks>
internal sealed class BlockMap(ExtBlocks blocks, ExtSuperblock super, ExtJournal journal, SparseBits claimed)
{
    public ExtBlocks Blocks => blocks;

    public ExtSuperblock Super => super;

    /// <summary>Follows a map.</summary>
    /// <param name="root">Where it starts.</param>
    /// <param name="before">Only states of its blocks before this transaction count; for deleted files. The present state otherwise.</param>
    /// <param name="visited">Takes the blocks of the map itself; null where nobody asks.</param>
    /// <param name="inPlace">Whether the blocks' own places are wanted, also where a newer state waits in the journal.</param>
    public FileMap Read(MapRoot root, uint? before = null, List<long>? visited = null, bool inPlace = false)
    {
        if (root.Size == 0)
            return new FileMap([], Trust.Full, null);
        if (root.Size < 0 || root.Size > (long)super.BlockSize << 32)
            return new FileMap([], Trust.Weak, $"its size {root.Size} is past what the format allows");
        var writer = new MapWriter(blocks, super.BlockSize, root.Size, inPlace);
        var walk = new MapWalk(this, writer, root.Seed, before, visited);
        if (root.IsTree)
            walk.Root(root.Bytes);
        else
            walk.Pointers(root.Bytes.Span);
        if (writer.At < writer.End)
            writer.Fault ??= "its map ends before its size";
        Trust trust = writer.Fault is not null ? Trust.Weak : writer.IsUnconfirmed ? Trust.Unconfirmed : Trust.Full;
        return new FileMap(writer.Finish(), walk.UsedJournal ? trust.And(Trust.Older) : trust, writer.Fault);
    }

    /// <summary>Takes a block for one map; answers false where it lies outside or another map has it.</summary>
    public bool Claim(long block) => blocks.Contains(block, 1) && claimed.Add(block);

    /// <summary>The newest state of a block that the journal holds from before a transaction; null where it holds none.</summary>
    public HeldBytes? Older(long block, uint before)
    {
        ReadOnlySpan<JournalCopy> copies = journal.CopiesOf(block);
        for (int i = copies.Length - 1; i >= 0; i--)
        {
            if (copies[i].Sequence < before && blocks.Read(copies[i]) is { IsWhole: true } read)
                return read;
        }

        return null;
    }
}
