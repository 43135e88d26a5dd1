using System.Runtime.InteropServices;

namespace Turnstone.Patients.Rehearsals;

/// <summary>A set of sectors as runs in order; cheap to grow at the end of a run.</summary>
internal sealed class SectorSet
{
    private readonly List<(long First, long End)> _runs = [];
    private readonly List<(long First, long End)> _added = [];
    private int _last = -1;

    /// <summary>The runs, none touching the next.</summary>
    public IReadOnlyList<(long First, long End)> Runs => _runs;

    /// <summary>Adds [first, end) and answers what of it was new. The list is good until the next call.</summary>
    public IReadOnlyList<(long First, long End)> Add(long first, long end)
    {
        _added.Clear();
        if (first >= end)
            return _added;
        if (CanGrowLast(first, end))
        {
            _runs[_last] = (_runs[_last].First, end);
            _added.Add((first, end));
            return _added;
        }

        Insert(first, end);
        return _added;
    }

    private bool CanGrowLast(long first, long end) =>
        _last >= 0 && _runs[_last].End == first && (_last + 1 == _runs.Count || end < _runs[_last + 1].First);

    private void Insert(long first, long end)
    {
        // One earlier than needed, so that a run which only touches is joined.
        int from = Ordered.FirstEndingAfter<(long First, long End)>(CollectionsMarshal.AsSpan(_runs), first - 1, static r => r.End), to = from;
        long at = first, newFirst = first, newEnd = end;
        for (; to < _runs.Count && _runs[to].First <= end; to++)
        {
            if (at < _runs[to].First)
                _added.Add((at, _runs[to].First));
            at = Math.Max(at, _runs[to].End);
            newFirst = Math.Min(newFirst, _runs[to].First);
            newEnd = Math.Max(newEnd, _runs[to].End);
        }

        if (at < end)
            _added.Add((at, end));
        _runs.RemoveRange(from, to - from);
        _runs.Insert(from, (newFirst, newEnd));
        _last = from;
    }
}
