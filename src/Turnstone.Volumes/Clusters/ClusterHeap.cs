using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>Clusters that follow each other on the disk.</summary>
internal readonly record struct ClusterRun(uint First, uint Count)
{
    public uint Last => First + Count - 1;
}

/// <summary>Where the clusters of a FAT or exFAT volume lie; the first one has number 2.</summary>
/// <param name="Start">Byte of the volume at which cluster 2 starts.</param>
/// <param name="ClusterBytes">Bytes in one cluster.</param>
/// <param name="Count">How many clusters there are; they are numbered from 2 to Count + 1.</param>
internal sealed record ClusterHeap(long Start, int ClusterBytes, uint Count)
{
    public const uint FirstCluster = 2;

    public uint LastCluster => Count + 1;

    public long Bytes => (long)Count * ClusterBytes;

    public bool Holds(uint cluster) => cluster is >= FirstCluster && cluster <= LastCluster;

    /// <summary>Whether the run starts and ends inside the heap.</summary>
    public bool Holds(uint first, long count) => Holds(first) && count <= LastCluster - (long)first + 1;

    /// <summary>Bytes of the volume that the run takes.</summary>
    public ByteRange Place(ClusterRun run) => new(Start + ((long)(run.First - FirstCluster) * ClusterBytes), (long)run.Count * ClusterBytes);

    /// <summary>How many clusters that many bytes take.</summary>
    public long ClustersFor(long bytes) => (bytes / ClusterBytes) + (bytes % ClusterBytes == 0 ? 0 : 1);
}
