using Turnstone.Patients.Chances;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Damages;

/// <summary>All damage of the surfaces, found by place. Dead heads are no part of it: they are a state of the drive.</summary>
internal sealed class DamageField
{
    private readonly Layout _layout;
    private readonly Mark[][] _marks;
    private readonly SectorRun[] _runs;
    private readonly bool[] _touched;
    private readonly FaintSpots _faint;
    private readonly ulong _softKey;

    public DamageField(IReadOnlyList<Damage> damages, Layout layout, int logicalPerPhysical, ulong seed)
    {
        _layout = layout;
        _faint = new FaintSpots(seed);
        _softKey = Chance.Key(seed, "soft");
        Mark[] marks = [.. MarkBuilder.Marks(damages, layout, seed)];
        _marks = [.. Enumerable.Range(0, layout.Surfaces).Select(h => marks.Where(m => m.Head == h).ToArray())];
        _runs = SectorRun.Build(damages, layout.Capacity, logicalPerPhysical, seed);
        _touched = new bool[layout.Segments.Count];
        for (int i = 0; i < _touched.Length; i++)
            _touched[i] = Touches(layout.At(i));
        Wrong = new WrongSectors(damages, layout, seed);
    }

    /// <summary>Sectors that return wrong bytes.</summary>
    public WrongSectors Wrong { get; }

    /// <summary>Whether any read in the segment has to look for trouble, faint sectors apart.</summary>
    public bool IsTouched(int segment) => _touched[segment];

    /// <summary>Whether a track is scratched ground.</summary>
    public bool IsMarked(int head, int track)
    {
        foreach (Mark mark in _marks[head])
        {
            if (mark.FromTrack <= track && track < mark.EndTrack)
                return true;
        }

        return false;
    }

    /// <summary>Collects the troubled sectors of one track, in order, each once.</summary>
    /// <param name="number">Which segment.</param>
    /// <param name="turn">Which of its tracks, in address order.</param>
    /// <param name="margin">Mean margin of the head now; infinity for a healthy one.</param>
    /// <param name="hardOnly">Whether to leave out the faint sectors that could answer.</param>
    /// <param name="into">Emptied first.</param>
    public void Collect(int number, int turn, double margin, bool hardOnly, List<Trouble> into)
    {
        into.Clear();
        ref readonly Segment segment = ref _layout.At(number);
        int track = segment.TrackAt(turn);
        long first = segment.First + ((long)turn * segment.SectorsPerTrack);
        if (_touched[number])
        {
            AddRuns(first, segment.SectorsPerTrack, into);
            AddMarks(segment, turn, track, first, into);
        }

        if (!double.IsPositiveInfinity(margin))
            _faint.Add(segment, track, margin, hardOnly, into);
        if (into.Count > 1)
            SortApart(into);
    }

    /// <summary>Every physical sector that no way of asking brings back, as runs in address order; what lies under a head
    /// that is dead from the start is not among them.</summary>
    /// <param name="marginOf">Mean margin of a head at the start.</param>
    public IEnumerable<(long First, long End)> Hard(Func<int, double> marginOf) =>
        Joined(Sectors(marginOf, hardOnly: true, t => t.Kind is TroubleKind.Hard or TroubleKind.HangsUntilReset or TroubleKind.HangsUntilPower));

    /// <summary>Every physical sector that may well refuse once, the hard ones too.</summary>
    /// <param name="marginOf">Mean margin of a head at the start.</param>
    public IEnumerable<(long First, long End)> Troubled(Func<int, double> marginOf) =>
        Joined(Sectors(marginOf, hardOnly: false, t => t.Kind != TroubleKind.Faint || t.PerTry < 0.1));

    private static IEnumerable<(long First, long End)> Joined(IEnumerable<long> sectors)
    {
        (long First, long End) open = (0, 0);
        foreach (long sector in sectors)
        {
            if (sector == open.End)
            {
                open.End++;
                continue;
            }

            if (open.First < open.End)
                yield return open;
            open = (sector, sector + 1);
        }

        if (open.First < open.End)
            yield return open;
    }

    private IEnumerable<long> Sectors(Func<int, double> marginOf, bool hardOnly, Func<Trouble, bool> wanted)
    {
        var troubles = new List<Trouble>();
        for (int i = 0; i < _touched.Length; i++)
        {
            Segment segment = _layout.Segments[i];
            double margin = marginOf(segment.Head);
            if (!_touched[i] && double.IsPositiveInfinity(margin))
                continue;
            for (int turn = 0; turn < segment.Tracks; turn++)
            {
                Collect(i, turn, margin, hardOnly, troubles);
                long first = segment.First + ((long)turn * segment.SectorsPerTrack);
                foreach (Trouble trouble in troubles)
                {
                    if (wanted(trouble))
                        yield return first + trouble.Sector;
                }
            }
        }
    }

    private static void SortApart(List<Trouble> troubles)
    {
        // Only the first trouble of a sector counts, and which one comes first must not depend on the sort.
        troubles.Sort((a, b) => a.Sector != b.Sector ? a.Sector.CompareTo(b.Sector) : a.Kind.CompareTo(b.Kind));
        int kept = 1;
        for (int i = 1; i < troubles.Count; i++)
        {
            if (troubles[i].Sector != troubles[kept - 1].Sector)
                troubles[kept++] = troubles[i];
        }

        troubles.RemoveRange(kept, troubles.Count - kept);
    }

    private void AddRuns(long first, int sectors, List<Trouble> into)
    {
        for (int i = FirstRunAfter(first); i < _runs.Length && _runs[i].First < first + sectors; i++)
        {
            SectorRun run = _runs[i];
            long from = Math.Max(run.First, first), to = Math.Min(run.End, first + sectors);
            for (long at = from; at < to; at++)
                into.Add(new Trouble((int)(at - first), run.Kind == TroubleKind.Soft ? SoftOrHard(at, run.SoftShare) : run.Kind, run.Cause, 0, run.Damage));
        }
    }

    private void AddMarks(in Segment segment, int turn, int track, long first, List<Trouble> into)
    {
        foreach (Mark mark in _marks[segment.Head])
        {
            if (track < mark.FromTrack || mark.EndTrack <= track)
                continue;
            (int from, int count) = mark.On(track, segment.SectorsPerTrack, segment.AngleAt(turn, _layout.TrackSkew));
            for (int i = 0; i < count; i++)
            {
                int sector = (from + i) % segment.SectorsPerTrack;
                into.Add(new Trouble(sector, SoftOrHard(first + sector, mark.SoftShare), mark.Cause));
            }
        }
    }

    private TroubleKind SoftOrHard(long sector, double softShare) =>
        Chance.Unit(_softKey, sector) < softShare ? TroubleKind.Soft : TroubleKind.Hard;

    private bool Touches(Segment segment)
    {
        int run = FirstRunAfter(segment.First);
        if (run < _runs.Length && _runs[run].First < segment.End)
            return true;
        foreach (Mark mark in _marks[segment.Head])
        {
            if (mark.Touches(segment))
                return true;
        }

        return false;
    }

    private int FirstRunAfter(long sector) => Ordered.FirstEndingAfter<SectorRun>(_runs, sector, static r => r.End);
}
