using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Fat;

/// <summary>A FAT12, FAT16 or FAT32 volume.</summary>
internal sealed class FatVolume(PartView part, string name, FatBootSector boot, Origin origin) : ClusterVolume(part)
{
    private const string LocalTime = "its times are the local time of the client's system, zone unknown";

    /// <inheritdoc/>
    public override ClusterHeap Heap { get; } = boot.Heap();

    /// <inheritdoc/>
    public override TableLayout Table { get; } = boot.Layout();

    /// <inheritdoc/>
    public override long MostFolderBytes => 65_536L * ShortEntry.Slot;

    /// <inheritdoc/>
    public override ByteRange RootPlace => new(boot.RootStart, boot.Width == TableWidth.Fat32 ? 0 : boot.RootBytes);

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> SystemPlaces =>
        from sector in ((int[])[0, boot.InfoSector, boot.CopySector]).Distinct()
        where sector < boot.ReservedSectors
        select new ByteRange((long)sector * boot.SectorBytes, boot.SectorBytes);

    /// <inheritdoc/>
    public override VolumeFacts Facts => new()
    {
        Name = name,
        Kind = boot.Width switch { TableWidth.Fat12 => "FAT12", TableWidth.Fat16 => "FAT16", TableWidth.Fat32 or TableWidth.ExFat => "FAT32" },
        Place = new ByteRange(Part.Part.Offset, boot.Sectors * boot.SectorBytes),
        Label = RootLabel() ?? boot.Label,
        Id = boot.Serial is { } serial ? $"{serial >> 16:X4}-{serial & 0xFFFF:X4}" : null,
        ClusterBytes = boot.ClusterBytes,
        Origin = origin,
        Certainty = TableStartsRight() ? Certainty.Sure : Certainty.Likely,
        Notes = [.. Notes()],
    };

    /// <inheritdoc/>
    public override IFolderReader NewFolderReader() => new FatFolderReader(boot.Width == TableWidth.Fat32);

    /// <inheritdoc/>
    public override Folder Root(ChainReader chains) => new(EntryPath.Root, boot.Width == TableWidth.Fat32
        ? chains.Read(boot.RootCluster, wanted: null, MostFolderBytes / boot.ClusterBytes)
        : null);

    /// <inheritdoc/>
    public override ClusterMap Allocation()
    {
        var map = new ClusterMap();
        var table = new AllocationTable(Part, Table);
        foreach (ClusterRun run in ClustersWithHeldEntries())
        {
            for (uint cluster = run.First; cluster <= run.Last; cluster++)
            {
                LinkKind kind = table.ReadAny(cluster, preferred: 0).Kind;
                if (kind != LinkKind.NotHeld)
                    map.Add(cluster, used: kind != LinkKind.Free);
            }
        }

        return map;
    }

    /// <summary>Clusters whose entry some copy of the table holds, in ascending order.</summary>
    private IEnumerable<ClusterRun> ClustersWithHeldEntries()
    {
        long next = ClusterHeap.FirstCluster;
        foreach (ByteRange held in HeldTableBytes())
        {
            long from = Math.Max(next, Table.ClusterAt(held.Offset));
            long to = Math.Min(Heap.LastCluster, Table.ClusterAt(held.End - 1));
            if (to < from)
                continue;
            yield return new ClusterRun((uint)from, (uint)(to - from + 1));
            next = to + 1;
        }
    }

    /// <summary>Stretches of the table, in its own bytes, of which at least one copy is held; in ascending order.</summary>
    private IEnumerable<ByteRange> HeldTableBytes()
    {
        IEnumerable<ByteRange> all = Table.Copies.SelectMany(copy =>
            Stretches.HeldIn(Part, copy).Select(held => new ByteRange(held.Offset - copy.Offset, held.Length)));
        ByteRange last = default;
        foreach (ByteRange held in all.OrderBy(range => range.Offset))
        {
            if (!last.IsEmpty && held.Offset <= last.End)
            {
                last = ByteRange.Between(last.Offset, Math.Max(last.End, held.End));
                continue;
            }

            if (!last.IsEmpty)
                yield return last;
            last = held;
        }

        if (!last.IsEmpty)
            yield return last;
    }

    private string? RootLabel()
    {
        IEnumerable<ByteRange> places = Root(new ChainReader(new AllocationTable(Part, Table))).Chain?.Runs.Select(Heap.Place) ?? [RootPlace];
        foreach (Stretch stretch in Stretches.Read(Part, places, _ => true))
        {
            for (int at = 0; at + ShortEntry.Slot <= stretch.Bytes.Length; at += ShortEntry.Slot)
            {
                ReadOnlySpan<byte> slot = stretch.Bytes.Span.Slice(at, ShortEntry.Slot);
                if (slot[0] == 0)
                    return null;
                bool isLabel = slot[0] != ShortEntry.Deleted && !ShortEntry.IsLongName(slot) && (ShortEntry.Attributes(slot) & ShortEntry.VolumeLabel) != 0;
                if (isLabel)
                    return System.Text.Encoding.Latin1.GetString(slot[..ShortEntry.NameLength]).TrimEnd(' ');
            }
        }

        return null;
    }

    /// <summary>The first entry of every table repeats the media byte: a second structure at a computed place that agrees.</summary>
    private bool TableStartsRight()
    {
        Span<byte> start = stackalloc byte[3];
        foreach (ByteRange copy in Table.Copies)
        {
            if (Part.TryRead(copy.Offset, start) && start[0] is 0xF0 or >= 0xF8 && start[1] == 0xFF && start[2] == 0xFF)
                return true;
        }

        return false;
    }

    private IEnumerable<string> Notes()
    {
        yield return LocalTime;
        if (origin == Origin.Copy)
            yield return "its boot sector was read from the copy";
        if (boot.Sectors * boot.SectorBytes > Part.Length)
            yield return $"it says that it has {boot.Sectors * boot.SectorBytes} bytes, but its part of the disk has {Part.Length}";
    }
}
