using Turnstone.Media;
using Turnstone.Volumes.Recognised;

namespace Turnstone.Volumes.Partitions;

/// <summary>Finds the partition table of a disk and the volumes in it.</summary>
/// <remarks>
/// Three things may stand at the start of a disk: a GUID table behind a protective MBR, an MBR alone, a volume.
/// Older ones often stay behind when a disk is made anew, so what sector 0 says decides as long as it is held.
/// </remarks>
internal sealed class DiskReader(ISectorView disk)
{
    private readonly ByteRange _whole = new(0, disk.Length);

    public Disk Read()
    {
        Parsed<MbrSector> sector = disk.Parse(0, MbrSector.Length, MbrSector.Read);
        MbrSector? mbr = sector.OrNone is { } table && table.Entries.Any(entry => entry.IsUsed) ? table : null;
        bool isProtective = mbr?.Entries.Any(entry => entry.IsProtective) ?? false;
        Disk? gpt = Gpt(mbr);
        if (gpt is not null && isProtective)
            return gpt;
        Disk? other = WithoutGpt(mbr);
        if (other?.Volumes.Count > 0)
            return gpt is null ? other : other with { Notes = [.. other.Notes, "an older GUID partition table is still there; the first sector does not call for it"] };
        return gpt ?? (isProtective ? null : other) ?? Nothing(sector, isProtective);
    }

    /// <summary>The size that the drive reports, then the one that a bridge between drive and client may have shown instead.</summary>
    private IEnumerable<int> SectorSizes() => ((int[])[disk.SectorSize.Bytes, 512, 4096]).Distinct();

    private Disk? Gpt(MbrSector? mbr)
    {
        foreach (int sectorBytes in SectorSizes())
        {
            long? protectedEnd = mbr?.Entries.FirstOrDefault(entry => entry.IsProtective) is { IsUsed: true } entry ? (long)entry.First + entry.Sectors - 1 : null;
            if (new GptTable(disk, sectorBytes).Read(protectedEnd) is { } gpt)
                return Make("GPT", mbr is null ? gpt : new HybridMbr(disk, sectorBytes).Add(gpt, mbr), sectorBytes);
        }

        return null;
    }

    private Disk? WithoutGpt(MbrSector? mbr)
    {
        Disk? parted = mbr is null ? null : BestOf(mbr);
        if (parted?.Volumes.Count > 0)
            return parted;
        IReadOnlyList<Volume> volumes = VolumeFormats.Open(new PartView(disk, _whole), "whole");
        if (volumes.Count == 0)
            return parted;
        return new Disk("none", [new Partition("whole", _whole, volumes[0].Facts.Kind, null, Origin.Table)], volumes, TablePlaces(), []);
    }

    /// <summary>An MBR does not say how large its sectors are: the size under which more of its partitions hold volumes is the right one.</summary>
    private Disk BestOf(MbrSector mbr) =>
        SectorSizes().Select(size => Make("MBR", new MbrTable(disk, size).Read(mbr), size)).MaxBy(made => made.Volumes.Count)!;

    private Disk Make(string table, PartitionList list, int sectorBytes)
    {
        var volumes = new List<Volume>();
        var unknown = new List<Partition>();
        foreach (Partition partition in list.Partitions)
        {
            var part = new PartView(disk, partition.Place);
            IReadOnlyList<Volume> found = VolumeFormats.Open(part, partition.Name);
            volumes.AddRange(found.Count > 0 ? found : FlatBytes.Open(part, partition.Name));
            if (found.Count == 0)
                unknown.Add(partition);
        }

        IEnumerable<string> notes = list.Notes.Concat(Overlaps(list.Partitions));
        if (sectorBytes != disk.SectorSize.Bytes)
            notes = notes.Append($"the partition table counts in sectors of {sectorBytes} bytes, the drive reports {disk.SectorSize.Bytes}: it was written through a bridge that changed the sector size");
        return new Disk(table, list.Partitions, volumes, [.. OnDisk(list.Skeleton), .. VolumeEnds.Of(unknown, _whole)], [.. notes]);
    }

    private static IEnumerable<string> Overlaps(IReadOnlyList<Partition> partitions)
    {
        Partition? before = null;
        foreach (Partition partition in partitions.OrderBy(p => p.Place.Offset))
        {
            if (before is not null && partition.Place.Offset < before.Place.End)
                yield return $"{before.Name} and {partition.Name} overlap";
            before = before is null || partition.Place.End > before.Place.End ? partition : before;
        }
    }

    /// <summary>No table that can be used and no volume at the start: volumes are looked for where tables usually put them.</summary>
    private Disk Nothing(Parsed<MbrSector> sector, bool isProtective)
    {
        (Partition Partition, IReadOnlyList<Volume> Volumes)[] found = [.. UsualStarts.Search(disk)];
        if (found.Length == 0 && FlatBytes.Open(new PartView(disk, _whole), "whole") is [var flat])
            return new Disk("none", [new Partition("whole", _whole, flat.Facts.Kind, null, Origin.Scan)], [flat], TablePlaces(), []);
        string trouble = isProtective ? "the first sector calls for a GUID partition table, but neither copy of it is held and sound" : sector.Match(
            value: _ => "no partition in the first sector and no known volume at the start of the disk",
            damaged: damage => $"no partition table ({damage.What}) and no known volume at the start of the disk",
            notHeld: () => "the first sector is not held, and no copy of a partition table was found");
        IEnumerable<string> notes = found.Length == 0 ? [trouble] : [trouble, "volumes were found where partition tables usually put them"];
        var everything = new Partition("whole", _whole, "unknown", null, Origin.Scan);
        Partition[] partitions = found.Length == 0 ? [everything] : [.. found.Select(f => f.Partition)];
        return new Disk("none", partitions, [.. found.SelectMany(f => f.Volumes)], [.. TablePlaces(), .. VolumeEnds.Of([everything], _whole), .. UsualStarts.Places(disk)], [.. notes]);
    }

    private List<ByteRange> TablePlaces() => [.. OnDisk(SectorSizes().SelectMany(size => new GptTable(disk, size).UsualPlaces)).Distinct()];

    /// <summary>What of the places lies on the disk: tables may point past its end.</summary>
    private IEnumerable<ByteRange> OnDisk(IEnumerable<ByteRange> places) => places.Select(place => place.Intersect(_whole)).Where(place => !place.IsEmpty);
}
