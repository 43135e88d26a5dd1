namespace Turnstone.Volumes.Ntfs;

/// <summary>Units of a compressed file that are stored alike: many plain ones in a row, or one packed one.</summary>
/// <param name="Offset">First byte in the file.</param>
/// <param name="Length">Bytes of the file.</param>
/// <param name="IsPacked">Whether <paramref name="Extents"/> hold packed bytes; else they are the file's own.</param>
/// <param name="Extents">Where they lie; exactly <paramref name="Length"/> bytes unless packed.</param>
internal sealed record UnitPiece(long Offset, long Length, bool IsPacked, IReadOnlyList<Extent> Extents);

/// <summary>Cuts the runs of a compressed file into pieces.</summary>
internal static class UnitPieces
{
    /// <summary>Pieces in file order; together exactly the file.</summary>
    public static IReadOnlyList<UnitPiece> Of(IReadOnlyList<Run> runs, int clusterBytes, int unitClusters, long volumeStart, long size, long validSize)
    {
        var pieces = new List<UnitPiece>();
        long at = 0, unitBytes = (long)clusterBytes * unitClusters;
        bool isTold = runs.Sum(run => run.Count) * clusterBytes >= validSize;
        foreach (List<Run> unit in Units(isTold ? runs : [.. runs, new Run(unitClusters, Run.Unknown)], unitClusters))
        {
            if (at >= validSize)
                break;
            long length = Math.Max(unitBytes, unit.Sum(run => run.Count) * clusterBytes);
            pieces.Add(Piece(unit, clusterBytes, volumeStart, at, Math.Min(length, validSize - at)));
            at += length;
        }

        if (at < validSize)
            pieces.Add(new UnitPiece(at, validSize - at, IsPacked: false, [Extent.Unknown(validSize - at)]));
        if (validSize < size)
            pieces.Add(new UnitPiece(validSize, size - validSize, IsPacked: false, [Extent.Zeros(size - validSize)]));
        return pieces;
    }

    private static UnitPiece Piece(List<Run> unit, int clusterBytes, long volumeStart, long at, long length)
    {
        bool hasStored = unit.Exists(run => run.IsStored);
        bool isPacked = hasStored && unit.Exists(run => run.Cluster == Run.Sparse);
        bool isUnknown = hasStored && unit.Exists(run => run.Cluster == Run.Unknown);
        if (!isPacked && !isUnknown)
            return new UnitPiece(at, length, IsPacked: false, RunExtents.Of(unit, clusterBytes, volumeStart, length, length));

        // Packed bytes come first; what is sparse after them is only the room that was saved. Where a cluster of the unit
        // is not told, even whether it is packed is not.
        Extent[] packed = [.. unit.TakeWhile(run => run.IsStored).Select(run => RunExtents.Of(run, clusterBytes, volumeStart))];
        bool isSound = packed.Length > 0 && unit.Skip(packed.Length).All(run => run.Cluster == Run.Sparse);
        return isSound ? new UnitPiece(at, length, IsPacked: true, packed) : new UnitPiece(at, length, IsPacked: false, [Extent.Unknown(length)]);
    }

    // Long runs that fill whole units stay in one piece, so that the count of pieces follows the runs and not a size read from the disk.
    private static IEnumerable<List<Run>> Units(IReadOnlyList<Run> runs, int unitClusters)
    {
        var unit = new List<Run>();
        long filled = 0;
        foreach (Run run in runs)
        {
            for (Run rest = run; rest.Count > 0;)
            {
                long whole = filled == 0 ? rest.Count / unitClusters * unitClusters : 0;
                long take = whole > 0 ? whole : Math.Min(rest.Count, unitClusters - filled);
                unit.Add(rest with { Count = take });
                filled += take;
                rest = new Run(rest.Count - take, rest.IsStored ? rest.Cluster + take : rest.Cluster);
                if (filled < unitClusters)
                    continue;
                yield return unit;
                unit = [];
                filled = 0;
            }
        }

        if (unit.Count > 0)
            yield return unit;
    }
}
