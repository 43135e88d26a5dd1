namespace Turnstone.Volumes.Ext;

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
