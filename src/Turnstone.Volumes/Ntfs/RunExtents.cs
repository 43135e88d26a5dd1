namespace Turnstone.Volumes.Ntfs;

/// <summary>Turns runs of clusters into stretches of a file.</summary>
internal static class RunExtents
{
    /// <summary>The stretches of an attribute that is not packed; together exactly its size.</summary>
    /// <param name="runs">Its runs.</param>
    /// <param name="clusterBytes">Bytes in a cluster.</param>
    /// <param name="volumeStart">What is added to each place: 0 for places of the volume.</param>
    /// <param name="size">Bytes of the attribute.</param>
    /// <param name="validSize">Bytes that were written; the rest reads as zeros whatever the clusters hold.</param>
    public static IReadOnlyList<Extent> Of(IReadOnlyList<Run> runs, int clusterBytes, long volumeStart, long size, long validSize)
    {
        // Most files: one run, all of it written.
        if (size > 0 && validSize == size && runs.Count > 0 && runs[0].Count * clusterBytes >= size)
            return [Of(runs[0], clusterBytes, volumeStart).Cut(size)];
        var extents = new ExtentList(size);
        for (int i = 0; i < runs.Count && extents.Covered < validSize; i++)
            extents.Add(Of(runs[i], clusterBytes, volumeStart).Cut(validSize - extents.Covered));

        if (extents.Covered < validSize)
            extents.Add(Extent.Unknown(validSize - extents.Covered));
        extents.Add(Extent.Zeros(size - validSize));
        return extents.Finish();
    }

    /// <summary>The stretch of one run.</summary>
    public static Extent Of(Run run, int clusterBytes, long volumeStart)
    {
        long length = run.Count * clusterBytes;
        return run.Cluster switch
        {
            Run.Sparse => Extent.Zeros(length),
            Run.Unknown => Extent.Unknown(length),
            _ => Extent.At(volumeStart + (run.Cluster * clusterBytes), length),
        };
    }

    /// <summary>The stretches that lie in a part of the file.</summary>
    public static IReadOnlyList<Extent> Slice(IReadOnlyList<Extent> extents, long offset, long length)
    {
        var slice = new ExtentList(length);
        long at = 0;
        foreach (Extent extent in extents)
        {
            long skip = Math.Max(0, offset - at);
            if (skip < extent.Length)
                slice.Add(From(extent, skip));
            at += extent.Length;
            if (at >= offset + length)
                break;
        }

        return slice.Finish();
    }

    private static Extent From(Extent extent, long skip)
    {
        long length = extent.Length - skip;
        return extent.Kind switch
        {
            ExtentKind.Stored => Extent.At(extent.Offset + skip, length),
            ExtentKind.Zeros => Extent.Zeros(length),
            ExtentKind.Unknown => Extent.Unknown(length),
        };
    }
}
