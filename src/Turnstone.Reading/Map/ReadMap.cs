using Turnstone.Media;

namespace Turnstone.Reading.Map;

/// <summary>What is known of every sector of a patient, kept as runs of equal marks.</summary>
/// <remarks>Safe for several threads. A change or a look-up takes time that grows with the logarithm of the number of runs.</remarks>
public sealed class ReadMap
{
    private readonly RunPages _runs;
    private readonly long[] _totals = new long[Enum.GetValues<SectorState>().Length];
    private readonly Lock _lock = new();

    /// <summary>A map in which nothing was asked yet.</summary>
    /// <exception cref="ArgumentOutOfRangeException">No sector, or more than 2^48.</exception>
    public ReadMap(SectorCount capacity)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(capacity.Value, nameof(capacity));
        ArgumentOutOfRangeException.ThrowIfGreaterThan(capacity.Value, PackedRun.MaxSectors, nameof(capacity));
        Whole = new SectorRange(new Lba(0), capacity);
        _runs = new RunPages(new PackedRun(0, MapMark.Unasked));
        _totals[(int)SectorState.Unasked] = capacity.Value;
    }

    /// <summary>All sectors.</summary>
    public SectorRange Whole { get; }

    /// <summary>How many runs the map consists of.</summary>
    public int RunCount
    {
        get
        {
            lock (_lock)
                return _runs.Count;
        }
    }

    /// <summary>How many sectors are in a state.</summary>
    public SectorCount Total(SectorState state)
    {
        lock (_lock)
            return new SectorCount(_totals[(int)state]);
    }

    /// <summary>What the map says of one sector.</summary>
    /// <exception cref="ArgumentOutOfRangeException">There is no such sector.</exception>
    public MapMark this[Lba lba] => RunAt(lba).Mark;

    /// <summary>The whole run that the sector is part of.</summary>
    /// <exception cref="ArgumentOutOfRangeException">There is no such sector.</exception>
    public MapRun RunAt(Lba lba)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(lba.Value, nameof(lba));
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(lba.Value, Whole.Count.Value, nameof(lba));
        lock (_lock)
            return RunAt(_runs.Find(lba.Value));
    }

    /// <summary>The runs that lie in or touch a range, cut to it, in ascending order.</summary>
    /// <remarks>Each step looks anew, so the map may change meanwhile; what was passed already is not seen again.</remarks>
    public IEnumerable<MapRun> Runs(SectorRange within)
    {
        for (Lba at = within.Start; at < within.End && at < Whole.End;)
        {
            MapRun run = RunAt(at);
            yield return new MapRun(SectorRange.Between(at, Min(run.Range.End, within.End)), run.Mark);
            at = run.Range.End;
        }
    }

    /// <summary>All runs in ascending order.</summary>
    public IEnumerable<MapRun> Runs() => Runs(Whole);

    /// <summary>The stretches in one state, neighbours joined whatever their cause, in ascending order.</summary>
    public IEnumerable<SectorRange> InState(SectorState state, SectorRange within)
    {
        SectorRange open = default;
        foreach (MapRun run in Runs(within))
        {
            if (run.Mark.State == state)
                open = open.IsEmpty ? run.Range : SectorRange.Between(open.Start, run.Range.End);
            else if (!open.IsEmpty)
            {
                yield return open;
                open = default;
            }
        }

        if (!open.IsEmpty)
            yield return open;
    }

    /// <summary>Puts a mark on a range.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The range reaches past the last sector.</exception>
    public void Set(SectorRange range, MapMark mark)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan(range.End.Value, Whole.End.Value, nameof(range));
        if (range.IsEmpty)
            return;
        lock (_lock)
        {
            Count(range, mark);
            Replace(range, mark);
        }
    }

    private void Count(SectorRange range, MapMark mark)
    {
        RunPages.Spot at = _runs.Find(range.Start.Value);
        while (true)
        {
            MapRun run = RunAt(at);
            _totals[(int)run.Mark.State] -= run.Range.Intersect(range).Count.Value;
            if (range.End <= run.Range.End || !_runs.Next(at, out at))
                break;
        }

        _totals[(int)mark.State] += range.Count.Value;
    }

    private void Replace(SectorRange range, MapMark mark)
    {
        long start = range.Start.Value, end = range.End.Value;
        MapMark? before = start == 0 ? null : _runs[_runs.Find(start - 1)].Mark;
        MapMark? after = end == Whole.End.Value ? null : _runs[_runs.Find(end)].Mark;
        _runs.RemoveStartsWithin(start, end + 1);
        if (before != mark)
            _runs.Insert(new PackedRun(start, mark));
        if (after is { } next && next != mark)
            _runs.Insert(new PackedRun(end, next));
    }

    private MapRun RunAt(RunPages.Spot at)
    {
        PackedRun run = _runs[at];
        long end = _runs.Next(at, out RunPages.Spot next) ? _runs[next].Start : Whole.End.Value;
        return new MapRun(SectorRange.Between(run.Start, end), run.Mark);
    }

    private static Lba Min(Lba left, Lba right) => left < right ? left : right;
}
