using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>One look at a volume: all its tables as far as they are held now. Made anew for each question.</summary>
internal sealed class ExtLook
{
    private ExtLook(ExtSuperblock super, ExtBlocks blocks, ExtJournal journal)
    {
        Super = super;
        Blocks = blocks;
        Journal = journal;
        Groups = new ExtGroups(blocks, super);
        Inodes = new ExtInodes(blocks, super, Groups, journal);
        Map = new BlockMap(blocks, super, journal, Claimed);
        RemovedMap = new BlockMap(blocks, super, journal, RemovedClaimed);
        Bitmaps = new ExtBitmaps(blocks, super, Groups);
    }

    public ExtSuperblock Super { get; }

    public ExtBlocks Blocks { get; }

    public ExtJournal Journal { get; }

    public ExtGroups Groups { get; }

    public ExtInodes Inodes { get; }

    /// <summary>Maps of what is there.</summary>
    public BlockMap Map { get; }

    /// <summary>Maps of what was deleted: they may well cross those of what is there.</summary>
    public BlockMap RemovedMap { get; }

    public ExtBitmaps Bitmaps { get; }

    /// <summary>Blocks that one map or one folder has taken in this look: no second one may.</summary>
    public SparseBits Claimed { get; } = new();

    /// <summary>The same for what was deleted.</summary>
    public SparseBits RemovedClaimed { get; } = new();

    /// <summary>How far the present state as a whole can be relied on.</summary>
    public Trust Trust => Journal.IsWhole ? Trust.Full : Trust.Unconfirmed;

    /// <summary>Where the journal lies; nothing where there is none or its inode is not held.</summary>
    public IReadOnlyList<Extent> JournalExtents { get; private init; } = [];

    /// <summary>Looks at a volume.</summary>
    /// <param name="part">Where it lies.</param>
    /// <param name="super">Its superblock, or a copy.</param>
    public static ExtLook At(PartView part, ExtSuperblock super)
    {
        var home = new ExtLook(super, new ExtBlocks(part, super, new Dictionary<long, JournalCopy>()), ExtJournal.None);
        if (!super.Compatible.HasFlag(Compatible.HasJournal) || super.JournalInode == 0)
            return home;
        IReadOnlyList<Extent> extents = FindJournal(home);

        // Copies of the superblock don't say whether the journal waits; its own start does.
        bool mayWait = super.Incompatible.HasFlag(Incompatible.Recover) || super.CopyOfGroup != 0;
        ExtJournal journal = JournalRing.Open(part, super, extents) is { } ring
            ? ExtJournal.Read(ring, mayWait)
            : mayWait ? ExtJournal.NotHeld("the journal is not held: what was changed last may show in an older state") : ExtJournal.None;
        return new ExtLook(super, new ExtBlocks(part, super, journal.Newer), journal) { JournalExtents = extents };
    }

    /// <summary>The journal's map from its inode, or from the copy of it in the superblock.</summary>
    private static IReadOnlyList<Extent> FindJournal(ExtLook home)
    {
        InodeRead read = home.Inodes.Read(home.Super.JournalInode);
        if (read.IsHeld && read.Trust.Certainty != Certainty.Guessed && read.Inode.Type == InodeType.Regular)
            return home.Map.Read(MapRoot.Of(read.Inode, home.Super)).Extents;
        ReadOnlyMemory<byte> copy = home.Super.JournalMap;
        if (copy.IsEmpty)
            return [];
        uint size = System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(copy.Span[64..]);
        bool isTree = copy.Span is [0x0A, 0xF3, ..];
        return home.Map.Read(new MapRoot(copy[..ExtInode.MapSize], isTree, home.Super.SumSeed, size)).Extents;
    }
}
