namespace Turnstone.Patients.Layouts;

/// <summary>Every physical sector's place, and back.</summary>
/// <remarks>Segments lie in address order without a gap. Physical sectors are counted as the translation of a plain
/// drive gives them: logical address over logical sectors in a physical one.</remarks>
public sealed class Layout
{
    private readonly Segment[] _segments;
    private readonly int[][] _byHead;

    internal Layout(DriveSpec drive, IReadOnlyList<double> density, List<Segment> segments)
    {
        TrackSkew = drive.TrackSkew;
        Density = density;
        _segments = [.. segments];
        _byHead = [.. Enumerable.Range(0, drive.Surfaces).Select(SegmentsOf)];
        long held = _segments[^1].End;
        Capacity = drive.CapacitySectors is { } asked ? Math.Min(held, (asked + drive.LogicalPerPhysical - 1) / drive.LogicalPerPhysical) : held;
    }

    /// <summary>Physical sectors that can be addressed.</summary>
    public long Capacity { get; }

    /// <summary>Recording surfaces.</summary>
    public int Surfaces => _byHead.Length;

    /// <summary>Segments in address order; the last ones may lie past the capacity.</summary>
    public IReadOnlyList<Segment> Segments => _segments;

    /// <summary>Each head's density against nominal, as a share.</summary>
    public IReadOnlyList<double> Density { get; }

    internal double TrackSkew { get; }

    /// <summary>Tracks on one surface.</summary>
    public int TracksOn(int head)
    {
        Segment last = _segments[_byHead[head][^1]];
        return last.FirstTrack + last.Tracks;
    }

    /// <summary>Number of the segment that a physical sector lies in.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A sector outside the layout.</exception>
    public int SegmentAt(long sector)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(sector);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(sector, _segments[^1].End);
        return Ordered.FirstEndingAfter<Segment>(_segments, sector, static s => s.End);
    }

    /// <summary>Where a physical sector lies.</summary>
    public Place Locate(long sector)
    {
        Segment s = _segments[SegmentAt(sector)];
        (long turn, long at) = Math.DivRem(sector - s.First, s.SectorsPerTrack);
        double angle = s.AngleAt((int)turn, TrackSkew) + ((double)at / s.SectorsPerTrack);
        return new Place(s.Head, s.TrackAt((int)turn), (int)at, angle - Math.Floor(angle));
    }

    /// <summary>The physical sector at a place; the place's angle is not looked at.</summary>
    /// <exception cref="ArgumentOutOfRangeException">No such head, track or sector.</exception>
    public long Find(Place place)
    {
        Segment s = _segments[SegmentOfTrack(place.Head, place.Track)];
        ArgumentOutOfRangeException.ThrowIfNegative(place.Sector, nameof(place));
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(place.Sector, s.SectorsPerTrack, nameof(place));
        int turn = s.Inward ? place.Track - s.FirstTrack : s.FirstTrack + s.Tracks - 1 - place.Track;
        return s.First + ((long)turn * s.SectorsPerTrack) + place.Sector;
    }

    /// <summary>Number of the segment that a track of a surface lies in.</summary>
    /// <exception cref="ArgumentOutOfRangeException">No such head or track.</exception>
    public int SegmentOfTrack(int head, int track)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(head);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(head, Surfaces);
        ArgumentOutOfRangeException.ThrowIfNegative(track);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(track, TracksOn(head));
        int[] own = _byHead[head];
        return own[Ordered.FirstEndingAfter<int>(own, track, i => _segments[i].FirstTrack + _segments[i].Tracks)];
    }

    internal ref readonly Segment At(int segment) => ref _segments[segment];

    private int[] SegmentsOf(int head) => [.. Enumerable.Range(0, _segments.Length).Where(i => _segments[i].Head == head)];
}
