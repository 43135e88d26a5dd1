namespace Turnstone.Patients.Rehearsals;

/// <summary>Which value a curve shows.</summary>
public enum ValueKind
{
    /// <summary>All bytes alike.</summary>
    Bytes,

    /// <summary>Bytes times their weight.</summary>
    WishedBytes,

    /// <summary>Bytes of wished files that are held whole.</summary>
    WholeFiles,
}

/// <summary>What one strategy brought from one patient.</summary>
/// <param name="Strategy">Its name.</param>
/// <param name="Points">What was held when, in order of time; between two points nothing more is claimed than at the first.</param>
/// <param name="Asks">Reads asked.</param>
/// <param name="Refusals">Of these, refused.</param>
/// <param name="Silences">Of these, without an answer within the limit.</param>
/// <param name="PowerCycles">Times that the power was cut.</param>
/// <param name="DeadHeads">Heads that read nothing at the end.</param>
/// <param name="DriveDead">Whether the drive had stopped for good.</param>
public sealed record RehearsalResult(string Strategy, IReadOnlyList<CurvePoint> Points, long Asks, long Refusals, long Silences, int PowerCycles, int DeadHeads, bool DriveDead)
{
    private readonly CurvePoint[] _points = [.. Points];

    /// <summary>The last point.</summary>
    public CurvePoint End => Points[^1];

    /// <summary>What was held at a time.</summary>
    public CurvePoint At(TimeSpan time)
    {
        long nanoseconds = time.Ticks * TimeSpan.NanosecondsPerTick;
        int after = Ordered.FirstEndingAfter<CurvePoint>(_points, nanoseconds, static p => p.Nanoseconds);
        return Points[Math.Max(0, after - 1)];
    }

    /// <summary>Value times seconds under the curve up to the horizon; after the last point its value stays.</summary>
    public double Area(ValueKind kind, TimeSpan horizon)
    {
        double area = 0, end = horizon.TotalSeconds;
        for (int i = 0; i < Points.Count; i++)
        {
            double from = Math.Min(end, Points[i].Nanoseconds / 1e9), to = i + 1 < Points.Count ? Math.Min(end, Points[i + 1].Nanoseconds / 1e9) : end;
            area += Of(Points[i], kind) * Math.Max(0, to - from);
        }

        return area;
    }

    /// <summary>One value of a point.</summary>
    public static double Of(CurvePoint point, ValueKind kind) => kind switch
    {
        ValueKind.Bytes => point.Bytes,
        ValueKind.WishedBytes => point.WishedBytes,
        ValueKind.WholeFiles => point.WholeFileBytes,
    };
}
