using Turnstone.Media;

namespace Turnstone.Volumes.Partitions;

/// <summary>Finds the partition table of a disk and the volumes in it.</summary>
internal sealed class DiskReader(ISectorView disk)
{
    // Every known main structure lies in the first 68 KiB of its volume, and the copies at the far end in the last 4.
    private const int Front = 68 * 1024, Back = 4096;

    public Disk Read()
    {
        foreach (int sectorBytes in SectorSizes())
        {
            if (new GptTable(disk, sectorBytes).Read() is { } gpt)
                return Make("GPT", gpt, sectorBytes);
        }

        IReadOnlyList<Volume> whole = VolumeFormats.Open(new PartView(disk, new ByteRange(0, disk.Length)), "whole");
        Parsed<MbrSector> sector = disk.Parse(0, MbrSector.Length, MbrSector.Read);
        if (sector.OrNone is { } mbr && mbr.Entries.Any(entry => entry.IsUsed))
        {
            Disk best = BestOf(mbr);
            if (whole.Count == 0 || best.Volumes.Count > 0)
                return best;
        }

        var everything = new Partition("whole", new ByteRange(0, disk.Length), whole.Count > 0 ? whole[0].Facts.Kind : "unknown", null, Origin.Table);
        return new Disk("none", [everything], whole, Skeleton(new GptTable(disk, disk.SectorSize.Bytes).UsualPlaces, [everything], whole), [.. Trouble(sector, whole)]);
    }

    /// <summary>The size that the drive reports, then the one that a bridge between drive and client may have shown instead.</summary>
    private IEnumerable<int> SectorSizes() => ((int[])[disk.SectorSize.Bytes, 512, 4096]).Distinct();

    /// <summary>An MBR does not say what its sectors are: the size under which more of its partitions hold volumes is the right one.</summary>
    private Disk BestOf(MbrSector mbr) =>
        SectorSizes().Select(size => Make("MBR", new MbrTable(disk, size).Read(mbr), size)).MaxBy(made => made.Volumes.Count)!;

    private Disk Make(string table, PartitionList list, int sectorBytes)
    {
        Volume[] volumes = [.. list.Partitions.SelectMany(p => VolumeFormats.Open(new PartView(disk, p.Place), p.Name))];
        IEnumerable<string> notes = list.Notes;
        if (sectorBytes != disk.SectorSize.Bytes)
            notes = notes.Append($"the partition table counts in sectors of {sectorBytes} bytes, the drive reports {disk.SectorSize.Bytes}: it was written through a bridge that changed the sector size");
        return new Disk(table, list.Partitions, volumes, Skeleton(list.Skeleton, list.Partitions, volumes), [.. notes]);
    }

    /// <summary>The table, then the ends of every partition in which no volume was recognised yet.</summary>
    private List<ByteRange> Skeleton(IReadOnlyList<ByteRange> table, IReadOnlyList<Partition> partitions, IReadOnlyList<Volume> volumes)
    {
        var all = new List<ByteRange>(table);
        foreach (Partition partition in partitions.Where(p => !volumes.Any(v => p.Place.Contains(v.Facts.Place) || p.Place.Offset == v.Facts.Place.Offset)))
        {
            ByteRange place = partition.Place.Intersect(new ByteRange(0, disk.Length));
            all.Add(new ByteRange(place.Offset, Math.Min(Front, place.Length)));
            all.Add(ByteRange.Between(Math.Max(place.Offset, place.End - Back), place.End));
        }

        return [.. all.Where(range => !range.IsEmpty)];
    }

    private static IEnumerable<string> Trouble(Parsed<MbrSector> sector, IReadOnlyList<Volume> whole)
    {
        if (whole.Count > 0)
            return [];
        return [sector.Match(
            value: _ => "no partition table and no known volume at the start of the disk",
            damaged: damage => $"no partition table ({damage.What}) and no known volume at the start of the disk",
            notHeld: () => "the first sector is not held, and no copy of a partition table was found")];
    }
}
