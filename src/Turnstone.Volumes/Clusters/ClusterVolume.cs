using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>What FAT and exFAT have in common: a heap of clusters, a table, a tree of folders that starts at a root.</summary>
internal abstract class ClusterVolume(PartView part) : Volume
{
    /// <summary>Where the volume lies.</summary>
    public PartView Part => part;

    /// <summary>The clusters.</summary>
    public abstract ClusterHeap Heap { get; }

    /// <summary>The table and its copies.</summary>
    public abstract TableLayout Table { get; }

    /// <summary>Bytes of the volume that belong to no cluster and to the file system itself: boot sectors, tables, a root outside the heap.</summary>
    public abstract IEnumerable<ByteRange> SystemPlaces { get; }

    /// <summary>The most bytes that a folder may have.</summary>
    public abstract long MostFolderBytes { get; }

    /// <summary>How folders are written; made anew for each pass.</summary>
    public abstract IFolderReader NewFolderReader();

    /// <summary>The root folder, with its clusters as far as they are known.</summary>
    public abstract Folder Root(ChainReader chains);

    /// <summary>Bytes of the root that lie outside the heap; empty where the root is a chain.</summary>
    public virtual ByteRange RootPlace => default;

    /// <summary>Clusters that the file system itself uses besides its folders: bitmap, up-case table.</summary>
    public virtual IEnumerable<Chain> SystemChains(ChainReader chains) => [];

    /// <summary>Whether a folder's first bytes say that it is this folder of that parent; null where they are not held or say nothing of it.</summary>
    public virtual bool? Vouches(uint firstCluster, Folder parent) => null;

    /// <summary>What a cluster that no entry claims says of being a folder; null where it is none or not held.</summary>
    public abstract FolderTrace? FolderAt(uint cluster);

    /// <summary>What tells which clusters are in use, read anew.</summary>
    public abstract ClusterMap Allocation();

    /// <summary>Whether more of its structures agree with each other than contradict, and at least one does.</summary>
    public bool IsConsistent => Checks().Sum(check => check.Fits is { } fits ? fits ? 1 : -1 : 0) > 0;

    /// <inheritdoc/>
    public override IEnumerable<Entry> Entries() => new FolderTree(this).Entries();

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Skeleton()
    {
        var tree = new FolderTree(this);
        return SystemPlaces.Concat(tree.SystemPlaces()).Concat(Table.Copies.Take(1)).Concat(tree.FolderPlaces()).Concat(Table.Copies.Skip(1)).Select(OnSource);
    }

    /// <inheritdoc/>
    public override IEnumerable<UsageRun> Usage()
    {
        yield return new UsageRun(OnSource(new ByteRange(0, Heap.Start)), Volumes.Usage.Used);
        foreach ((ClusterRun run, Usage usage) in Allocation().Runs())
            yield return new UsageRun(OnSource(Heap.Place(run)), usage);
    }

    /// <summary>A range of the volume in bytes of the source.</summary>
    public ByteRange OnSource(ByteRange place) => new(part.Part.Offset + place.Offset, place.Length);
}
