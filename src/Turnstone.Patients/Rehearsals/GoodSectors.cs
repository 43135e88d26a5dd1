using Turnstone.Media;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Rehearsals;

/// <summary>Counts the sectors that can be had, by head, track length and worth.</summary>
internal sealed class GoodSectors
{
    private readonly Dictionary<(int Head, int SectorsPerTrack, double Weight, bool Whole), long> _counts = [];
    private readonly WorthMap _worth;

    public GoodSectors(Patient patient, WorthMap worth)
    {
        _worth = worth;
        Lost = [.. patient.Truth.Lost().Select(r => (r.Start.Value / worth.PerPhysical, (r.End.Value + worth.PerPhysical - 1) / worth.PerPhysical))];
        bool[] spoiled = Spoiled();
        int run = 0, lost = 0;
        foreach ((long first, long end, Segment segment) in Pieces(patient))
        {
            for (long at = first; at < end;)
            {
                while (worth.Runs[run].End <= at)
                    run++;
                while (lost < Lost.Count && Lost[lost].End <= at)
                    lost++;
                bool isLost = lost < Lost.Count && Lost[lost].First <= at;
                long to = Math.Min(Math.Min(end, worth.Runs[run].End), lost == Lost.Count ? end : isLost ? Lost[lost].End : Lost[lost].First);
                if (!isLost)
                    Count(worth.Runs[run], segment, to - at, spoiled);
                at = to;
            }
        }
    }

    /// <summary>Physical sectors that cannot be had, as runs in order.</summary>
    public IReadOnlyList<(long First, long End)> Lost { get; }

    /// <summary>Groups of equal sectors with their value and their time.</summary>
    /// <param name="kind">Which value.</param>
    /// <param name="trackSeconds">Time of one whole track.</param>
    public IEnumerable<(int Head, double Value, double Seconds)> Of(ValueKind kind, double trackSeconds) =>
        from equal in _counts
        let value = equal.Value * (double)_worth.SectorBytes * ValueOf(kind, equal.Key.Weight, equal.Key.Whole)
        where value > 0
        select (equal.Key.Head, value, equal.Value * trackSeconds / equal.Key.SectorsPerTrack);

    private static double ValueOf(ValueKind kind, double weight, bool whole) => kind switch
    {
        ValueKind.Bytes => 1,
        ValueKind.WishedBytes => weight,
        ValueKind.WholeFiles => whole ? 1 : 0,
    };

    private void Count(in PlanRun run, in Segment segment, long sectors, bool[] spoiled)
    {
        if (run.File == WorthMap.Worthless)
            return;
        bool whole = run.Worth == Worth.Wished && !spoiled[run.File];
        var key = (segment.Head, segment.SectorsPerTrack, _worth.WeightOf(run.Worth), whole);
        _counts[key] = _counts.GetValueOrDefault(key) + sectors;
    }

    /// <summary>Files that cannot be whole: those with a lost sector too.</summary>
    private bool[] Spoiled()
    {
        bool[] spoiled = _worth.Spoiled();
        foreach ((long first, long end) in Lost.Where(l => l.First < _worth.Capacity))
        {
            for (int i = _worth.RunAt(first); i < _worth.Runs.Length && _worth.Runs[i].First < end; i++)
            {
                if (_worth.Runs[i].File >= 0)
                    spoiled[_worth.Runs[i].File] = true;
            }
        }

        return spoiled;
    }

    /// <summary>All written addresses in order, each with the segment that it lies in.</summary>
    private IEnumerable<(long First, long End, Segment Segment)> Pieces(Patient patient)
    {
        Layout layout = patient.Truth.Layout;
        foreach (HeadRun run in patient.Truth.Heads())
        {
            if (run.Head is null)
                continue;
            long first = run.Range.Start.Value / _worth.PerPhysical, end = Math.Min(_worth.Capacity, run.Range.End.Value / _worth.PerPhysical);
            long media = patient.Drive.Map?.MediaAt(first) ?? first;
            yield return (first, end, layout.Segments[layout.SegmentAt(media)]);
        }
    }
}
