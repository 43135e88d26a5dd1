using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>An exFAT volume.</summary>
internal sealed class ExFatVolume(PartView part, string name, ExFatBootSector boot, Origin origin) : ClusterVolume(part)
{
    private const int LargestUpCase = 2 * 65_536;

    /// <inheritdoc/>
    public override ClusterHeap Heap { get; } = boot.Heap();

    /// <inheritdoc/>
    public override TableLayout Table { get; } = boot.Table();

    /// <inheritdoc/>
    public override long MostFolderBytes => 256L << 20; // section 7.4: 256 MB

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> SystemPlaces =>
    [
        new(0, boot.SectorBytes * ExFatBootSector.BootSectors),
        new(boot.SectorBytes * ExFatBootSector.BootSectors, boot.SectorBytes * ExFatBootSector.BootSectors),
    ];

    /// <inheritdoc/>
    public override VolumeFacts Facts => new()
    {
        Name = name,
        Kind = "exFAT",
        Place = new ByteRange(Part.Part.Offset, boot.VolumeBytes),
        Label = Special().VolumeLabel,
        Id = $"{boot.Serial >> 16:X4}-{boot.Serial & 0xFFFF:X4}",
        ClusterBytes = boot.ClusterBytes,
        Origin = origin,
        Certainty = SumFits() ? Certainty.Sure : Certainty.Likely,
        Notes = [.. Notes()],
    };

    /// <inheritdoc/>
    public override IFolderReader NewFolderReader() => new ExFatFolderReader(UpCase());

    /// <inheritdoc/>
    public override Folder Root(ChainReader chains) =>
        new(EntryPath.Root, chains.Read(boot.RootCluster, wanted: null, MostFolderBytes / boot.ClusterBytes));

    /// <inheritdoc/>
    public override IEnumerable<Chain> SystemChains(ChainReader chains)
    {
        RootEntries special = Special();
        foreach (RootStream? stream in (RootStream?[])[special.BitmapStream, special.UpCaseStream])
        {
            if (stream is { } s && s.Bytes > 0 && s.Bytes <= Heap.Bytes)
                yield return chains.Read(s.FirstCluster, Heap.ClustersFor(s.Bytes));
        }
    }

    /// <inheritdoc/>
    public override ClusterMap Allocation()
    {
        var map = new ClusterMap();
        long cluster = ClusterHeap.FirstCluster;
        foreach (ByteRange place in Special().BitmapStream is { } bitmap ? Places(bitmap) : [])
        {
            foreach (ByteRange held in Stretches.HeldIn(Part, place))
                AddBits(map, held, cluster + ((held.Offset - place.Offset) * 8));
            cluster += place.Length * 8;
        }

        return map;
    }

    /// <inheritdoc/>
    public override FolderTrace? FolderAt(uint cluster)
    {
        ByteRange place = Heap.Place(new ClusterRun(cluster, 1));
        Span<byte> first = stackalloc byte[1];
        bool mayBeFolder = Part.TryRead(place.Offset, first) && (first[0] | EntrySet.InUse) is EntrySet.File or EntrySet.Stream or EntrySet.Name;
        if (!mayBeFolder)
            return null;
        // Whole sets with fitting checksums do not come about by chance; their names matter little here.
        FoundEntry[] sets = [.. new ExFatFolderReader(UpCaseTable.Plain).Read(Stretches.Read(Part, [place], _ => true), new Folder(EntryPath.Root, Chain.Row(cluster, 1)))];
        return sets.Any(set => set.Certainty == Certainty.Sure)
            ? new FolderTrace(cluster, null, [.. sets.Where(set => set is { IsFolder: true, Deleted: false }).Select(set => set.FirstCluster)])
            : null;
    }

    private void AddBits(ClusterMap map, ByteRange held, long cluster)
    {
        foreach (Stretch stretch in Stretches.Read(Part, [held], _ => true))
        {
            foreach (byte bits in stretch.Bytes.Span)
            {
                for (int bit = 0; bit < 8 && cluster <= Heap.LastCluster; bit++, cluster++)
                    map.Add((uint)cluster, used: (bits >> bit & 1) != 0);
            }
        }
    }

    private UpCaseTable UpCase()
    {
        if (Special().UpCaseStream is not { } stream || stream.Bytes is <= 0 or > LargestUpCase)
            return UpCaseTable.Plain;
        var table = new byte[stream.Bytes];
        int at = 0;
        foreach (ByteRange place in Places(stream))
        {
            int take = (int)Math.Min(place.Length, table.Length - at);
            if (!Part.TryRead(place.Offset, table.AsSpan(at, take)))
                return UpCaseTable.Plain;
            at += take;
        }

        return at == table.Length && BootChecksum.Add(0, table) == stream.Checksum ? UpCaseTable.Read(table) : UpCaseTable.Plain;
    }

    private IEnumerable<ByteRange> Places(RootStream stream)
    {
        if (stream.Bytes <= 0 || stream.Bytes > Heap.Bytes)
            return [];
        return NewChains().Read(stream.FirstCluster, Heap.ClustersFor(stream.Bytes)).Runs.Select(Heap.Place);
    }

    private RootEntries Special() =>
        RootEntries.Read(Part, Root(NewChains()).Chain!.Runs.Select(Heap.Place), boot.Fats == 2 ? boot.Flags & 1 : 0);

    private ChainReader NewChains() => new(new AllocationTable(Part, Table));

    /// <inheritdoc/>
    internal override IEnumerable<VolumeCheck> Checks()
    {
        long copy = boot.SectorBytes * ExFatBootSector.BootSectors;
        RootEntries special = Special();
        yield return new VolumeCheck("the boot region's checksum fits", Known(BootChecksum.Check(Part, 0, boot.SectorBytes)));
        yield return new VolumeCheck("the checksum of the boot region's copy fits", Known(BootChecksum.Check(Part, copy, boot.SectorBytes)));
        yield return new VolumeCheck("the allocation table starts as it must", Known(Part.Parse<bool>(Table.Copies[0].Offset, 8, start =>
            new Parsed<bool>.Value(start.SequenceEqual((ReadOnlySpan<byte>)[0xF8, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF])))));
        bool isRootHeld = Part.TryRead(Heap.Place(new ClusterRun(boot.RootCluster, 1)).Offset, new byte[ExFatBootSector.Length]);
        yield return new VolumeCheck("the root folder names a bitmap of the right size", !isRootHeld ? null : special.BitmapStream?.Bytes == (Heap.Count + 7L) / 8);
        yield return new VolumeCheck("the root folder names an up-case table", !isRootHeld ? null : special.UpCaseStream is { Bytes: > 0 and <= LargestUpCase });
    }

    private static bool? Known(Parsed<bool> check) => check is Parsed<bool>.Value { Item: var fits } ? fits : null;

    private bool SumFits() => BootChecksum.Check(Part, 0, boot.SectorBytes).OrNone || BootChecksum.Check(Part, boot.SectorBytes * ExFatBootSector.BootSectors, boot.SectorBytes).OrNone;

    private IEnumerable<string> Notes()
    {
        if (origin == Origin.Copy)
            yield return "its boot sector was read from the copy";
        if (boot.VolumeBytes > Part.Length)
            yield return $"it says that it has {boot.VolumeBytes} bytes, but its part of the disk has {Part.Length}";
        if ((boot.Flags & 2) != 0)
            yield return "it was not cleanly unmounted";
        if ((boot.Flags & 4) != 0)
            yield return "the client's system has seen reads of it fail";
    }
}
