namespace Turnstone.Volumes;

/// <summary>Collects the stretches of one file in file order, joins neighbours, and ends exactly at the file's size.</summary>
/// <param name="size">Bytes of the file; stretches past it are dropped.</param>
public sealed class ExtentList(long size)
{
    private readonly List<Extent> _extents = [];

    /// <summary>Bytes of the file that have a stretch so far.</summary>
    public long Covered { get; private set; }

    /// <summary>Whether every byte of the file has its stretch.</summary>
    public bool IsComplete => Covered == size;

    /// <summary>Adds the next stretch, cut at the file's size.</summary>
    public ExtentList Add(Extent extent)
    {
        extent = extent.Cut(size - Covered);
        if (extent.Length == 0)
            return this;
        Covered += extent.Length;
        if (_extents.Count > 0 && Joins(_extents[^1], extent))
            _extents[^1] = Join(_extents[^1], extent);
        else
            _extents.Add(extent);
        return this;
    }

    /// <summary>All stretches; what was never added is unknown.</summary>
    public IReadOnlyList<Extent> Finish()
    {
        Add(Extent.Unknown(size - Covered));
        return _extents.ToArray();
    }

    private static bool Joins(Extent left, Extent right) =>
        left.Kind == right.Kind && (left.Kind != ExtentKind.Stored || left.Offset + left.Length == right.Offset);

    private static Extent Join(Extent left, Extent right)
    {
        long length = left.Length + right.Length;
        return left.Kind switch
        {
            ExtentKind.Stored => Extent.At(left.Offset, length),
            ExtentKind.Zeros => Extent.Zeros(length),
            ExtentKind.Unknown => Extent.Unknown(length),
        };
    }
}
