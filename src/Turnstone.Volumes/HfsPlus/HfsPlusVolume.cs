using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>An HFS+ or HFSX volume.</summary>
/// <remarks>
/// Names are as on the disk: Apple's decomposed form, and '/' where the system's command line shows ':'. A resource fork is
/// a stream named 'rsrc' of its file. Extended attributes are read only where they say how a file is compressed.
/// </remarks>
internal sealed class HfsPlusVolume(VolumePlace place, string name, FoundHeader first) : Volume
{
    public override VolumeFacts Facts
    {
        get
        {
            VolumeReading reading = Look();
            VolumeHeader header = reading.Header;
            return new VolumeFacts
            {
                Name = name,
                Kind = header.IsExtended ? "HFSX" : "HFS+",
                Place = new ByteRange(place.SourceOffset, header.Shape.Bytes),
                Label = Label(reading.Catalog),
                Id = header.VolumeId == 0 ? null : header.VolumeId.ToString("X16"),
                ClusterBytes = header.Shape.BlockBytes,
                Origin = reading.Found.Origin,
                Certainty = reading.Found.Certainty,
                Notes = [.. reading.Found.Notes, .. Notes(reading)],
            };
        }
    }

    public override IEnumerable<Entry> Entries()
    {
        foreach (Entry entry in new CatalogEntries(Look()).All())
            yield return entry;
    }

    public override IEnumerable<ByteRange> Skeleton()
    {
        VolumeReading reading = Look();
        VolumeShape shape = reading.Header.Shape;
        if (place.WrapperBytes > 0)
            yield return new ByteRange(place.SourceOffset - place.WrapperBytes + VolumeHeader.At, VolumeHeader.Length);
        yield return OnSource(new ByteRange(VolumeHeader.At, VolumeHeader.Length));
        // a partition that is no whole number of blocks has the copy at its own end
        foreach (long end in ((long[])[shape.Bytes, place.View.Length]).Distinct().Where(e => e >= 2 * VolumeHeader.At))
            yield return OnSource(new ByteRange(end - VolumeHeader.At, VolumeHeader.Length));
        foreach (ForkMap map in (ForkMap[])[reading.ExtentsMap, reading.CatalogMap, reading.AttributesMap, reading.AllocationMap])
        {
            foreach (ForkPiece piece in map.Pieces)
                yield return OnSource(piece.Place);
        }

        if (!reading.Header.IsJournaled)
            yield break;
        yield return OnSource(new ByteRange((long)reading.Header.JournalInfoBlock * shape.BlockBytes, shape.BlockBytes));
        if (reading.Metadata.Journal is { } journal)
            yield return OnSource(journal.Place);
    }

    public override IEnumerable<UsageRun> Usage()
    {
        foreach (UsageRun run in Look().Allocation.Runs())
            yield return run;
    }

    private VolumeReading Look() => new(place, FoundHeader.In(place.View) ?? first);

    private ByteRange OnSource(ByteRange range) => new(place.SourceOffset + range.Offset, range.Length);

    /// <summary>The root folder's name, which the first record of the catalog has.</summary>
    private static string? Label(BTreeFile catalog)
    {
        if (catalog.Header is not { } header || header.FirstLeaf >= catalog.NodeCount)
            return null;
        BTreeNode node = catalog.Read(header.FirstLeaf);
        return node is { IsLeaf: true, Found: > 0 } && CatalogRecord.Of(node.Record(0)) is { Parent: CatalogRecord.RootParent } root ? root.Name : null;
    }

    private IEnumerable<string> Notes(VolumeReading reading)
    {
        VolumeHeader header = reading.Header;
        if (place.WrapperBytes > 0)
            yield return "inside an HFS wrapper";
        if (header.Shape.Bytes > place.View.Length)
            yield return $"{header.Shape.Bytes - place.View.Length} bytes of it lie past the end of the partition or disk";
        if (!header.WasUnmounted)
            yield return "was not unmounted";
        if (header.IsInconsistent)
            yield return "marked as inconsistent by its own system";
        if (reading.MayBeBehind)
            yield return "its last changes stand in a journal that is not held or damaged: entries may be of an older state";
        if (reading.Metadata.Journal is { IsWaiting: true })
            yield return "its journal holds changes that were not yet written to their places; they are read from there";
        if (!reading.Catalog.HasAllNodes)
            yield return "the place of a part of its catalog is not known";
    }
}
