using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The special files of a volume as the bytes held now show them; made anew for each question.</summary>
internal sealed class VolumeReading
{
    private readonly Lazy<AttributesFile> _attributes;

    public VolumeReading(VolumePlace place, FoundHeader found)
    {
        Place = place;
        Metadata = new MetadataView(place.View, Journal.Open(place, found.Header));
        Found = PlayedBack(found);
        ExtentsMap = ForkMap.Of(Metadata, Header.Shape, Header.Extents, Inline(Header.Extents));
        // late because only files in more than eight pieces ask for it
        Forks = new ForkPlaces(Header.Shape, place.SourceOffset, new Lazy<ExtentsOverflow>(() => ExtentsOverflow.Read(new BTreeFile(ExtentsMap, ExtentsOverflow.LengthOf))));
        CatalogMap = Map(Header.Catalog, ExtentsOverflow.CatalogId);
        Catalog = new BTreeFile(CatalogMap, CatalogRecord.LengthOf);
        AttributesMap = Map(Header.Attributes, ExtentsOverflow.AttributesId);
        AllocationMap = Map(Header.Allocation, ExtentsOverflow.AllocationId);
        Allocation = new AllocationFile(AllocationMap, Header.Shape, place.SourceOffset);
        // late because only compressed files ask for it
        _attributes = new Lazy<AttributesFile>(() => new AttributesFile(Header.Attributes.IsEmpty ? null : new BTreeFile(AttributesMap, AttributesFile.LengthOf)));
    }

    public VolumePlace Place { get; }

    public FoundHeader Found { get; }

    public VolumeHeader Header => Found.Header;

    public MetadataView Metadata { get; }

    public ForkPlaces Forks { get; }

    public ForkMap ExtentsMap { get; }

    public ForkMap CatalogMap { get; }

    public BTreeFile Catalog { get; }

    public ForkMap AttributesMap { get; }

    public ForkMap AllocationMap { get; }

    public AllocationFile Allocation { get; }

    public AttributesFile Attributes => _attributes.Value;

    /// <summary>The header itself may wait in the journal: then the special files may have grown.</summary>
    private FoundHeader PlayedBack(FoundHeader found)
    {
        const int sectorMax = 4096;
        Span<byte> front = stackalloc byte[sectorMax];
        if (Metadata.Journal is not { IsWaiting: true } || Metadata.Read(0, front) is not { Origin: Origin.Journal } held || !held.Has(VolumeHeader.At, VolumeHeader.Length))
            return found;
        return VolumeHeader.Read(front.Slice(VolumeHeader.At, VolumeHeader.Length)).OrNone is { } header && header.Shape == found.Header.Shape ? found with { Header = header } : found;
    }

    /// <summary>Whether the newest changes are in a journal that cannot be read.</summary>
    public bool MayBeBehind => Header.IsJournaled && Metadata.Journal is { } journal ? journal.IsCut : Header.IsJournaled && !Header.WasUnmounted;

    private ForkMap Map(ForkData fork, uint id) => ForkMap.Of(Metadata, Header.Shape, fork, Forks.Runs(fork, id, ForkKind.Data));

    // the extents file cannot have runs in itself
    private static IEnumerable<FileRun> Inline(ForkData fork)
    {
        long block = 0;
        foreach (BlockRun run in fork.Runs)
        {
            yield return new FileRun(block, run);
            block += run.Count;
        }
    }
}
