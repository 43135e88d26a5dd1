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
    public override ClusterMap Allocation() => new FatAllocation(Part, Table).Read();

    /// <inheritdoc/>
    public override bool? Vouches(uint firstCluster, Folder parent)
    {
        FolderTrace? trace = FolderAt(firstCluster, out bool isHeld);
        // 0 stands for the root; some drivers write the FAT32 root's cluster instead.
        return !isHeld ? null : trace is not null && (trace.Parent == parent.FirstCluster || (parent.Path.IsRoot && trace.Parent == 0));
    }

    /// <inheritdoc/>
    public override FolderTrace? FolderAt(uint cluster) => FolderAt(cluster, out _);

    /// <summary>A folder starts with an entry for itself and one for its parent.</summary>
    private FolderTrace? FolderAt(uint cluster, out bool isHeld)
    {
        Span<byte> start = stackalloc byte[2 * ShortEntry.Slot];
        isHeld = Part.TryRead(Heap.Place(new ClusterRun(cluster, 1)).Offset, start);
        bool isFolder = isHeld && start.StartsWith(".          "u8) && start[ShortEntry.Slot..].StartsWith("..         "u8) && ClusterOf(start) == cluster;
        return isFolder ? new FolderTrace(cluster, ClusterOf(start[ShortEntry.Slot..]), []) : null;
    }

    private uint ClusterOf(ReadOnlySpan<byte> slot) => ShortEntry.FirstCluster(slot) & (boot.Width == TableWidth.Fat32 ? 0x0FFF_FFFFu : 0xFFFFu);

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

    /// <summary>The first entries of every table repeat the media byte: a second structure at a computed place that agrees.</summary>
    private bool TableStartsRight() => Table.Copies.Any(copy => StartsRight(copy) == true);

    private bool? StartsRight(ByteRange copy)
    {
        Span<byte> start = stackalloc byte[3];
        return !Part.TryRead(copy.Offset, start) ? null : start[0] is 0xF0 or >= 0xF8 && start[1] == 0xFF && start[2] is 0xFF;
    }

    /// <inheritdoc/>
    internal override IEnumerable<VolumeCheck> Checks()
    {
        foreach (ByteRange copy in Table.Copies)
            yield return new VolumeCheck("an allocation table starts as it must", StartsRight(copy));
        if (boot.Width != TableWidth.Fat32)
            yield break;
        yield return new VolumeCheck("the copy of the boot sector agrees", Compare((long)boot.CopySector * boot.SectorBytes, FatBootSector.Read, other => other.Equals(boot)));
        yield return new VolumeCheck("the sector of hints carries its marks", Compare<bool>((long)boot.InfoSector * boot.SectorBytes, HasMarks, marked => marked));
    }

    private bool? Compare<T>(long at, StructureParser<T> parser, Func<T, bool> agrees) =>
        Part.Parse(at, FatBootSector.Length, parser).Match<bool?>(value: other => agrees(other), damaged: _ => false, notHeld: () => null);

    private static Parsed<bool> HasMarks(ReadOnlySpan<byte> info) => new Parsed<bool>.Value(info.StartsWith("RRaA"u8) && info.Slice(484, 4).SequenceEqual("rrAa"u8));

    private IEnumerable<string> Notes()
    {
        yield return LocalTime;
        if (origin == Origin.Copy)
            yield return "its boot sector was read from the copy";
        if (boot.Sectors * boot.SectorBytes > Part.Length)
            yield return $"it says that it has {boot.Sectors * boot.SectorBytes} bytes, but its part of the disk has {Part.Length}";
    }
}
