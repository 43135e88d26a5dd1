namespace Turnstone.Volumes.Clusters;

/// <summary>One entry as its folder tells it, before its clusters are looked up.</summary>
internal sealed record FoundEntry
{
    public required string Name { get; init; }

    public required bool IsFolder { get; init; }

    public bool Deleted { get; init; }

    public EntryAttributes Attributes { get; init; }

    public EntryTimes Times { get; init; } = EntryTimes.None;

    /// <summary>0 where the entry has none.</summary>
    public uint FirstCluster { get; init; }

    /// <summary>Bytes; not negative. For a folder 0 where only the table tells.</summary>
    public long Size { get; init; }

    /// <summary>Bytes from the start that were written; the rest reads as zeros.</summary>
    public long Written { get; init; }

    /// <summary>Whether the clusters lie in a row and the table does not tell them.</summary>
    public bool InARow { get; init; }

    public Certainty Certainty { get; init; }

    public IReadOnlyList<string> Notes { get; init; } = [];
}

/// <summary>How one file system writes its folders.</summary>
internal interface IFolderReader
{
    /// <summary>The entries in a folder's bytes, live and deleted; ends where the folder does.</summary>
    /// <param name="stretches">The folder's held bytes.</param>
    /// <param name="folder">What is known of the folder.</param>
    IEnumerable<FoundEntry> Read(IEnumerable<Stretch> stretches, Folder folder);
}

/// <summary>A folder on the way through a volume.</summary>
/// <param name="Path">Where it stands.</param>
/// <param name="Chain">Its clusters; null for the root of FAT12 and FAT16, which lies outside the heap.</param>
internal sealed record Folder(EntryPath Path, Chain? Chain)
{
    public Certainty Certainty { get; init; }

    public Origin Origin { get; init; }

    public bool Deleted { get; init; }

    public int Depth { get; init; }

    /// <summary>Its first cluster; 0 for a root outside the heap.</summary>
    public uint FirstCluster => Chain is { Runs: [var first, ..] } ? first.First : 0;
}

/// <summary>A cluster that reads as a folder though no entry leads to it.</summary>
/// <param name="Cluster">The cluster.</param>
/// <param name="Parent">First cluster of the folder that it says it stands in, 0 for the root; null where it does not say.</param>
/// <param name="Children">First clusters of the folders in it.</param>
internal sealed record FolderTrace(uint Cluster, uint? Parent, IReadOnlyList<uint> Children);
