using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The special files of a volume as the bytes held now show them; made anew for each question.</summary>
internal sealed class VolumeReading
{
    private readonly Lazy<AttributesFile> _attributes;

    public VolumeReading(VolumePlace place, FoundHeader found)
    {
        (Place, Found) = (place, found);
        Metadata = new MetadataView(place.View, Journal.Open(place, Header));
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
