namespace Turnstone.Patients.Rehearsals;

/// <summary>What is held at one moment of a rehearsal.</summary>
/// <param name="Nanoseconds">Virtual time.</param>
/// <param name="Bytes">All bytes.</param>
/// <param name="WishedBytes">Wish-weighted bytes: each byte times its weight.</param>
/// <param name="WholeFileBytes">Bytes of the wished files that are held whole.</param>
/// <param name="Wear">Wear of all heads together; one unit is ten hours of plain work.</param>
public readonly record struct CurvePoint(long Nanoseconds, double Bytes, double WishedBytes, double WholeFileBytes, double Wear)
{
    /// <summary>Virtual time.</summary>
    public TimeSpan Time => TimeSpan.FromTicks(Nanoseconds / TimeSpan.NanosecondsPerTick);
}

/// <summary>Counts what a read is worth as its sectors come in, each sector once.</summary>
internal sealed class Score(WorthMap worth)
{
    private readonly SectorSet _held = new();
    private readonly long[] _missing = [.. worth.FileSizes];
    private int _run;

    public double Bytes { get; private set; }

    public double WishedBytes { get; private set; }

    public double WholeFileBytes { get; private set; }

    /// <summary>Adds the physical sectors [first, end).</summary>
    public void Add(long first, long end)
    {
        foreach ((long from, long to) in _held.Add(first, Math.Min(end, worth.Capacity)))
            Count(from, to);
    }

    private void Count(long first, long end)
    {
        if (!(worth.Runs[_run].First <= first && first < worth.Runs[_run].End))
            _run = worth.RunAt(first);
        while (first < end)
        {
            PlanRun run = worth.Runs[_run];
            long to = Math.Min(end, run.End);
            CountIn(run, to - first);
            first = to;
            if (first < end)
                _run++;
        }
    }

    private void CountIn(in PlanRun run, long sectors)
    {
        if (run.File == WorthMap.Worthless)
            return;
        double bytes = (double)sectors * worth.SectorBytes;
        Bytes += bytes;
        WishedBytes += bytes * worth.WeightOf(run.Worth);
        if (run.File < 0)
            return;
        _missing[run.File] -= sectors;
        if (_missing[run.File] == 0 && worth.FileIsWished[run.File] && !worth.IsSpoiled(run.File))
            WholeFileBytes += (double)worth.FileSizes[run.File] * worth.SectorBytes;
    }
}
