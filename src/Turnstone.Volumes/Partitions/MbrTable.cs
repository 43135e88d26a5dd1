using Turnstone.Media;

namespace Turnstone.Volumes.Partitions;

/// <summary>What a partition table lists, with the sectors it was read from.</summary>
/// <param name="Partitions">In the table's order.</param>
/// <param name="Skeleton">Where the table lies.</param>
/// <param name="Notes">What a technician should know.</param>
internal sealed record PartitionList(IReadOnlyList<Partition> Partitions, IReadOnlyList<ByteRange> Skeleton, IReadOnlyList<string> Notes);

/// <summary>The old partition table with its chain of logical partitions.</summary>
internal sealed class MbrTable(ISectorView disk, int sectorBytes)
{
    private const int FirstLogical = 5;

    // The chain has one link a logical partition; systems stop far earlier.
    private const int MostLogical = 256;
    private readonly List<Partition> _partitions = [];
    private readonly List<ByteRange> _skeleton = [new(0, sectorBytes)];
    private readonly List<string> _notes = [];

    /// <summary>Everything that hangs on a table's first sector.</summary>
    public PartitionList Read(MbrSector mbr)
    {
        for (int i = 0; i < mbr.Entries.Count; i++)
        {
            MbrEntry entry = mbr.Entries[i];
            if (entry is { IsUsed: true, IsExtended: false, IsProtective: false })
                Add(i + 1, entry.First, entry);
        }

        foreach (MbrEntry extended in mbr.Entries.Where(entry => entry is { IsUsed: true, IsExtended: true }))
            FollowLogical(extended);
        return new PartitionList(_partitions, _skeleton, _notes);
    }

    /// <summary>A link lists one partition, counted from itself, and the next link, counted from the start of the extended partition.</summary>
    private void FollowLogical(MbrEntry extended)
    {
        var seen = new HashSet<long>();
        long at = extended.First;
        for (int number = FirstLogical; number < FirstLogical + MostLogical; number++)
        {
            if (!seen.Add(at))
            {
                _notes.Add($"the chain of logical partitions comes back to sector {at}");
                return;
            }

            _skeleton.Add(new ByteRange(at * sectorBytes, sectorBytes));
            if (Link(at) is not { } link)
                return;
            if (link.Entries.FirstOrDefault(entry => entry is { IsUsed: true, IsExtended: false }) is { IsUsed: true } logical)
                Add(number, at + logical.First, logical);
            if (link.Entries.FirstOrDefault(entry => entry is { IsUsed: true, IsExtended: true }) is not { IsUsed: true } next)
                return;
            at = (long)extended.First + next.First;
        }

        _notes.Add($"more than {MostLogical} logical partitions; the rest of the chain is not followed");
    }

    private MbrSector? Link(long sector) => disk.Parse(sector * sectorBytes, MbrSector.Length, MbrSector.Read).Match<MbrSector?>(
        value: link => link,
        damaged: damage =>
        {
            _notes.Add($"the chain of logical partitions breaks at sector {sector}: {damage.What}");
            return null;
        },
        notHeld: () =>
        {
            _notes.Add($"the chain of logical partitions is not held from sector {sector} on");
            return null;
        });

    private void Add(int number, long first, MbrEntry entry)
    {
        var place = new ByteRange(first * sectorBytes, (long)entry.Sectors * sectorBytes);
        _partitions.Add(new Partition($"p{number}", place, PartitionTypes.OfMbr(entry.Type), null, Origin.Table));
        if (place.End > disk.Length)
            _notes.Add($"p{number} reaches {place.End - disk.Length} bytes past the end of the disk");
    }
}
