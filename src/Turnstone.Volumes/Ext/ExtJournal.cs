namespace Turnstone.Volumes.Ext;

/// <summary>One earlier or newer state of a block that stands in the journal.</summary>
/// <param name="Block">The block that it is a state of.</param>
/// <param name="Sequence">Transaction that it belongs to; higher is newer.</param>
/// <param name="Place">Block of the volume where it stands now.</param>
/// <param name="IsEscaped">Whether its first four bytes were blanked because they looked like the journal's own mark.</param>
internal readonly record struct JournalCopy(long Block, uint Sequence, long Place, bool IsEscaped)
{
    /// <summary>First bytes of every block that is the journal's own.</summary>
    public static ReadOnlySpan<byte> Magic => [0xC0, 0x3B, 0x39, 0x98];
}

/// <summary>What the journal of a volume holds: blocks that wait to be written home, and older states of blocks.</summary>
/// <remarks>Layout: Linux kernel 6.1 documentation, filesystems/ext4, 'Journal (jbd2)'. All numbers big-endian.</remarks>
internal sealed class ExtJournal
{
    private readonly JournalCopy[] _copies;

    private ExtJournal(JournalCopy[] copies, IReadOnlyDictionary<long, JournalCopy> newer, bool isWhole, IReadOnlyList<string> notes)
    {
        _copies = copies;
        Newer = newer;
        IsWhole = isWhole;
        Notes = notes;
    }

    public static ExtJournal None { get; } = new([], new Dictionary<long, JournalCopy>(), true, []);

    /// <summary>A journal that should be there but is not held.</summary>
    public static ExtJournal NotHeld(string note) => new([], new Dictionary<long, JournalCopy>(), false, [note]);

    /// <summary>Committed blocks that are not yet home, newest state each; empty where the volume was closed in order.</summary>
    public IReadOnlyDictionary<long, JournalCopy> Newer { get; }

    /// <summary>False where blocks may wait in parts of the journal that are not held or not understood.</summary>
    public bool IsWhole { get; }

    public IReadOnlyList<string> Notes { get; }

    /// <summary>All states of one block, oldest first.</summary>
    public ReadOnlySpan<JournalCopy> CopiesOf(long block) => CopiesOf(block, 1);

    /// <summary>All states of a run of blocks, by block and then oldest first.</summary>
    public ReadOnlySpan<JournalCopy> CopiesOf(long block, long count)
    {
        int from = FirstAt(block), to = FirstAt(block + count);
        return _copies.AsSpan(from, to - from);
    }

    /// <summary>Reads a journal.</summary>
    /// <param name="ring">Its blocks.</param>
    /// <param name="mayWait">Whether the volume says, or may say, that blocks wait to be written home.</param>
    public static ExtJournal Read(JournalRing ring, bool mayWait)
    {
        JournalCopy[] copies = [.. Scan(ring)];
        Array.Sort(copies, static (a, b) => a.Block != b.Block ? a.Block.CompareTo(b.Block) : a.Sequence.CompareTo(b.Sequence));
        if (!mayWait || ring.Start == 0)
            return new ExtJournal(copies, new Dictionary<long, JournalCopy>(), true, []);
        var replay = JournalReplay.Run(ring);
        string[] notes = [.. replay.Notes, $"the volume was not closed in order: {replay.Newer.Count} blocks are taken from the journal"];
        return new ExtJournal(copies, replay.Newer, replay.IsWhole, notes);
    }

    /// <summary>Every state that a descriptor in the journal tells of, stale transactions too.</summary>
    private static IEnumerable<JournalCopy> Scan(JournalRing ring)
    {
        for (long at = ring.First; at < ring.End; at++)
        {
            if (ring.ReadOwn(at) is not { Kind: JournalRing.DescriptorBlock } block)
                continue;
            foreach (JournalTag tag in ring.Tags(block))
            {
                if (++at < ring.End && ring.PlaceOf(at) is long place)
                    yield return new JournalCopy(tag.Block, block.Sequence, place, tag.IsEscaped);
            }
        }
    }

    private int FirstAt(long block)
    {
        int low = 0, high = _copies.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_copies[middle].Block < block)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }
}
