namespace Turnstone.Volumes.Ext;

/// <summary>Follows the journal from its tail, as the kernel does when it mounts a volume that was not closed in order.</summary>
internal sealed class JournalReplay
{
    private readonly JournalRing _ring;
    private readonly Dictionary<long, uint> _revoked = [];
    private readonly List<JournalCopy> _committed = [];
    private readonly List<JournalCopy> _open = [];
    private readonly List<long> _openRevoked = [];
    private long _at, _steps;
    private uint _sequence;

    private JournalReplay(JournalRing ring)
    {
        _ring = ring;
        (_at, _sequence) = (ring.Start, ring.Sequence);
        IsWhole = Follow();
    }

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

    /// <summary>Goes on to the end of the log; answers false when it is cut off by a block that is not held.</summary>
    private bool Follow()
    {
        // A block that is not the next one of the log is its end; the ring is gone round once at most.
        while (_steps < _ring.End)
        {
            if (!_ring.IsHeld(_at))
                return false;
            if (_ring.ReadOwn(_at) is not { } block || block.Sequence != _sequence || !Take(block))
                return true;
            Step();
        }

        return true;
    }

    /// <summary>Takes one block of the log; answers false when it cannot belong to it.</summary>
    private bool Take(JournalBlock block)
    {
        switch (block.Kind)
        {
            case JournalRing.DescriptorBlock:
                TakeCopies(block);
                return true;
            case JournalRing.RevokeBlock:
                _openRevoked.AddRange(_ring.Revoked(block));
                return true;
            case JournalRing.CommitBlock when _ring.CommitFits(block):
                Commit();
                return true;
            default:
                return false;
        }
    }

    private void TakeCopies(JournalBlock block)
    {
        foreach (JournalTag tag in _ring.Tags(block))
        {
            Step();
            if (_ring.PlaceOf(_at) is long place)
                _open.Add(new JournalCopy(tag.Block, _sequence, place, tag.IsEscaped));
        }
    }

    private void Commit()
    {
        _committed.AddRange(_open);
        foreach (long block in _openRevoked)
            _revoked[block] = _sequence;
        _open.Clear();
        _openRevoked.Clear();
        _sequence++;
    }

    private void Step()
    {
        _at = _ring.Next(_at);
        _steps++;
    }
}
