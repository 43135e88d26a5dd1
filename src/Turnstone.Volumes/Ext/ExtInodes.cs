using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>What came of looking for an inode.</summary>
/// <param name="IsHeld">Whether there is anything to look at.</param>
/// <param name="Inode">The inode; without meaning where it is not held.</param>
/// <param name="Trust">How far it can be relied on.</param>
internal readonly record struct InodeRead(bool IsHeld, ExtInode Inode, Trust Trust)
{
    /// <summary>What a technician should know of it; null where all is well.</summary>
    public string? Note => Trust switch
    {
        { Origin: Origin.Journal } => "its inode is an older state from the journal; the present one is not held",
        { Certainty: Certainty.Guessed } => "the checksum of its inode, or of what leads to it, does not fit",
        _ => null,
    };
}

/// <summary>Finds inodes by their number, and older states of them in the journal.</summary>
internal sealed class ExtInodes(ExtBlocks blocks, ExtSuperblock super, ExtGroups groups, ExtJournal journal)
{
    private const int WindowBytes = 16 * 1024, WindowsKept = 1024;

    private readonly Dictionary<long, HeldBytes> _windows = [];
    private readonly Queue<long> _order = new();

    /// <summary>Blocks of a table that are read together.</summary>
    private int WindowBlocks => Math.Max(1, WindowBytes / super.BlockSize);

    private int PerWindow => WindowBlocks * super.BlockSize / super.InodeSize;

    /// <summary>The inode's present state, or else its newest older one.</summary>
    public InodeRead Read(uint number)
    {
        if (number == 0 || number > super.Inodes || groups.Find((number - 1) / super.InodesPerGroup) is not { } group)
            return default;
        int index = (int)((number - 1) % super.InodesPerGroup);
        HeldBytes window = Window(group, index / PerWindow);
        int at = index % PerWindow * super.InodeSize;
        if (!window.Holds(at, super.InodeSize))
            return Older(number, uint.MaxValue, anyState: true) is { } older ? new InodeRead(true, older, Trust.Older) : default;
        var inode = new ExtInode(number, window.Data.AsMemory(at, super.InodeSize));
        return new InodeRead(true, inode, inode.IsBlank || inode.SumFits(super) ? Confirmed(group.Trust) : group.Trust.And(Trust.Weak));
    }

    /// <summary>The newest older state in which the inode was in use, before the given transaction; null where the journal holds none.</summary>
    public ExtInode? Older(uint number, uint before, bool anyState = false) =>
        States(number).Where(state => state.Sequence < before && (state.Inode.IsLive || anyState)).Select(state => (ExtInode?)state.Inode).FirstOrDefault();

    /// <summary>Every older state of an inode that the journal holds, newest first, with the transaction that wrote it.</summary>
    public IEnumerable<(ExtInode Inode, uint Sequence)> States(uint number)
    {
        if (groups.Find((number - 1) / super.InodesPerGroup) is not { } group)
            yield break;
        int offset = (int)((number - 1) % super.InodesPerGroup) * super.InodeSize, within = offset % super.BlockSize;
        long block = group.InodeTable + (offset / super.BlockSize);
        for (int i = journal.CopiesOf(block).Length - 1; i >= 0; i--)
        {
            JournalCopy copy = journal.CopiesOf(block)[i];
            HeldBytes read = blocks.Read(copy);
            if (!read.Holds(within, super.InodeSize))
                continue;
            var inode = new ExtInode(number, read.Data.AsMemory(within, super.InodeSize));
            if (inode.SumFits(super))
                yield return (inode, copy.Sequence);
        }
    }

    /// <summary>Inodes of a group that were ever used and are held, in order.</summary>
    public IEnumerable<uint> NumbersOf(long index, ExtGroup group)
    {
        int used = group.IsInodeTableBlank ? 0 : group.InodesUsed;
        for (int window = 0; window * PerWindow < used; window++)
        {
            long first = group.InodeTable + ((long)window * WindowBlocks);
            if (!blocks.Held(first, Math.Min(WindowBlocks, group.InodeTable + super.TableBlocks() - first)).Any())
                continue;
            for (int i = window * PerWindow; i < Math.Min(used, (window + 1) * PerWindow); i++)
                yield return (uint)((index * super.InodesPerGroup) + i + 1);
        }
    }

    /// <summary>An inode's own checksum with its number in it also confirms the place that was only computed.</summary>
    private Trust Confirmed(Trust place) => super.HasMetadataSums && place.Certainty == Certainty.Guessed ? Trust.Unconfirmed : place;

    private HeldBytes Window(ExtGroup group, int index)
    {
        long first = group.InodeTable + ((long)index * WindowBlocks);
        if (_windows.TryGetValue(first, out HeldBytes? window))
            return window;
        if (_order.Count == WindowsKept)
            _windows.Remove(_order.Dequeue());
        window = blocks.Read(first, (int)Math.Min(WindowBlocks, group.InodeTable + super.TableBlocks() - first));
        _windows.Add(first, window);
        _order.Enqueue(first);
        return window;
    }
}
