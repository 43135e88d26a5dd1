using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Where the structures lie that tell everything else.</summary>
/// <param name="layout">The volume.</param>
internal sealed class NtfsSkeleton(NtfsLayout layout)
{
    /// <summary>Places on the source, most telling first.</summary>
    public IEnumerable<ByteRange> Ranges()
    {
        NtfsBootSector boot = layout.Boot;
        MasterFileTable table = new MftLoader(layout).Load(search: false);
        yield return layout.OnSource(new ByteRange(0, boot.SectorBytes));
        yield return layout.OnSource(new ByteRange(boot.CopyOffset, boot.SectorBytes));
        yield return layout.OnSource(new ByteRange(boot.MirrorOffset, (long)boot.MirrorRecords * boot.RecordBytes));
        foreach (ByteRange place in Stored(table.Extents))
            yield return place;

        var reader = new RecordReader(layout, table, withIndex: true);
        if (reader.Read(AllocationBitmap.RecordNumber).OrNone?.Find(AttributeType.Data) is { } bitmap)
        {
            foreach (ByteRange place in Places(bitmap))
                yield return place;
        }

        foreach (ByteRange place in table.Blocks().SelectMany(block => OfRecords(block, reader)))
            yield return place;
    }

    private IEnumerable<ByteRange> OfRecords(MftBlock block, RecordReader reader)
    {
        for (int i = 0; i < block.Count; i++)
        {
            if (reader.Read(block.Record(i), block.HeldOf(i), block.First + i).OrNone is not { Header: { IsInUse: true, IsExtension: false } } file)
                continue;
            foreach (AttributeFacts facts in file.Attributes.Where(IsTelling))
            {
                foreach (ByteRange place in Places(facts))
                    yield return place;
            }
        }
    }

    private static bool IsTelling(AttributeFacts facts) =>
        facts.Type is AttributeType.AttributeList or AttributeType.IndexAllocation or AttributeType.ReparsePoint
        || (facts.Type == AttributeType.Bitmap && facts.Name.Length > 0);

    private IEnumerable<ByteRange> Places(AttributeFacts facts) =>
        AttributeBytes.Stored(facts, layout) is { } stored ? Stored(stored.Extents) : [];

    private IEnumerable<ByteRange> Stored(IReadOnlyList<Extent> extents) =>
        extents.Where(extent => extent.Kind == ExtentKind.Stored).Select(extent => WholeSectors(layout.OnSource(extent.Place)));

    // A drive gives sectors, and a structure may end inside one.
    private ByteRange WholeSectors(ByteRange place) => place.Sectors(layout.Part.SectorSize).Bytes(layout.Part.SectorSize);
}
