using System.Buffers.Binary;

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

/// <summary>Follows the journal from its tail, as the kernel does when it mounts a volume that was not closed in order.</summary>
internal sealed class JournalReplay
{
    private readonly Dictionary<long, uint> _revoked = [];
    private readonly List<JournalCopy> _committed = [];

    private JournalReplay(JournalRing ring) => IsWhole = Follow(ring);

    public bool IsWhole { get; }

    public Dictionary<long, JournalCopy> Newer { get; } = [];

    public List<string> Notes { get; } = [];

    public static JournalReplay Run(JournalRing ring)
    {
        var replay = new JournalReplay(ring);
        foreach (JournalCopy copy in replay._committed)
        {
            if (!replay._revoked.TryGetValue(copy.Block, out uint revokedBy) || copy.Sequence > revokedBy)
                replay.Newer[copy.Block] = copy;
        }

        if (ring.HasFastCommits)
            replay.Notes.Add("the journal may hold fast commits, which are not read here: the newest changes may be missing");
        if (!replay.IsWhole)
            replay.Notes.Add("part of the journal is not held: what was changed last may show in an older state");
        return replay;
    }

    private bool Follow(JournalRing ring)
    {
        long at = ring.Start;
        uint sequence = ring.Sequence;
        var open = new List<JournalCopy>();
        var revoked = new List<long>();
        for (long step = ring.First; step < ring.End; step++)
        {
            if (!ring.IsHeld(at))
                return false;
            if (ring.ReadOwn(at) is not { } block || block.Sequence != sequence)
                return true;
            switch (block.Kind)
            {
                case JournalRing.DescriptorBlock:
                    foreach (JournalTag tag in ring.Tags(block))
                    {
                        at = ring.Next(at);
                        step++;
                        if (ring.PlaceOf(at) is long place)
                            open.Add(new JournalCopy(tag.Block, sequence, place, tag.IsEscaped));
                    }

                    break;
                case JournalRing.RevokeBlock:
                    revoked.AddRange(ring.Revoked(block));
                    break;
                case JournalRing.CommitBlock:
                    if (!ring.CommitFits(block))
                        return true;
                    Commit(open, revoked, sequence++);
                    break;
                default:
                    return true;
            }

            at = ring.Next(at);
        }

        return true;
    }

    private void Commit(List<JournalCopy> open, List<long> revoked, uint sequence)
    {
        _committed.AddRange(open);
        foreach (long block in revoked)
            _revoked[block] = sequence;
        open.Clear();
        revoked.Clear();
    }
}
