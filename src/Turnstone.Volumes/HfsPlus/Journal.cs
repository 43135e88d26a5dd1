using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Metadata blocks that the journal keeps: those not yet written to their place, and older ones that still lie in the ring.</summary>
/// <remarks>
/// Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Journal" (from memory); a number's byte order is the writing machine's.
/// The newest copy of a block in the ring is also its newest state on the disk, because every change goes through the ring.
/// </remarks>
internal sealed class Journal
{
    private readonly JournalRing _ring;
    private readonly Dictionary<long, long> _waiting = [];
    private readonly Lazy<Dictionary<long, long>> _older;

    private Journal(JournalRing ring, long wrapperBytes)
    {
        _ring = ring;
        WrapperBytes = wrapperBytes;
        long left = ring.WaitingBytes;
        foreach (BlockList list in ring.Waiting())
        {
            Note(list, _waiting);
            left -= list.Length;
        }

        IsCut = left > 0;
        // late because it reads the whole ring, which only a volume with holes needs
        _older = new Lazy<Dictionary<long, long>>(ReadOlder);
    }

    /// <summary>Where the ring lies in the volume.</summary>
    public ByteRange Place => _ring.Place;

    public int SectorBytes => _ring.SectorBytes;

    /// <summary>Whether changes stand in it that are not at their place yet.</summary>
    public bool IsWaiting => _waiting.Count > 0;

    /// <summary>Whether some of these changes cannot be read.</summary>
    public bool IsCut { get; }

    private long WrapperBytes { get; }

    /// <summary>The journal; null where the volume has none, or where its header is not held or damaged.</summary>
    public static Journal? Open(VolumePlace place, VolumeHeader header) =>
        header.IsJournaled && JournalRing.Find(place.View, header) is { } ring ? new Journal(ring, place.WrapperBytes) : null;

    /// <summary>Where the journal keeps a sector that belongs at this offset of the volume and has not been written there.</summary>
    public long? Waiting(long offset) => _waiting.TryGetValue(offset, out long at) ? at : null;

    /// <summary>Where the ring still has the newest state of the sector at this offset of the volume.</summary>
    public long? Older(long offset) => _older.Value.TryGetValue(offset, out long at) ? at : null;

    /// <summary>Offsets of all sectors that it has.</summary>
    public IEnumerable<long> Sectors() => _older.Value.Keys.Concat(_waiting.Keys);

    private Dictionary<long, long> ReadOlder()
    {
        var older = new Dictionary<long, long>();
        foreach (BlockList list in _ring.OldestFirst())
            Note(list, older);
        return older;
    }

    private void Note(BlockList list, Dictionary<long, long> into)
    {
        foreach ((long target, int length, long at) in list.Blocks)
        {
            for (int i = 0; i < length; i += SectorBytes)
                into[target - WrapperBytes + i] = _ring.Wrap(at + i) + Place.Offset;
        }
    }
}
