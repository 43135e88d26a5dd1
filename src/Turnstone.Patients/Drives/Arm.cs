using Turnstone.Patients.Chances;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Drives;

/// <summary>Where the arm stands and when the surface under it was read: the mechanics of a drive.</summary>
/// <remarks>
/// Time runs in nanoseconds of virtual time. The spindle's angle is the time itself, so where a sector passes the head is
/// fixed for good. While reads go on where the last one ended, the drive has been reading ahead meanwhile and loses
/// nothing between two commands; anything else costs a seek and the wait for the sector.
/// </remarks>
internal sealed class Arm
{
    private readonly Layout _layout;
    private readonly TimingSpec _timing;
    private readonly SeekCurve _seek;
    private readonly Chance _chance;
    private readonly double _turn, _readAhead;
    private int _head, _track;
    private long _next = -1;

    public Arm(Layout layout, TimingSpec timing, int sectorBytes, Chance chance)
    {
        (_layout, _timing, _chance) = (layout, timing, chance);
        _seek = new SeekCurve(timing, Enumerable.Range(0, layout.Surfaces).Max(layout.TracksOn));
        _turn = timing.TurnSeconds * 1e9;
        // As a time: how far the drive can be ahead of the host, at the rate of the outer edge.
        _readAhead = timing.ReadAheadKibibytes * 1024 / sectorBytes / layout.Segments[0].SectorsPerTrack * _turn;
    }

    /// <summary>Until when the surface has been read.</summary>
    public double Now { get; private set; }

    /// <summary>Gets to where a command starts.</summary>
    /// <param name="first">First physical sector.</param>
    /// <param name="host">When the drive has understood the command.</param>
    public void Start(long first, double host)
    {
        // Without a read-ahead of its own the drive has let the next sector pass while it waited for the command; half a nanosecond is rounding.
        if (first == _next && (_readAhead > 0 || host <= Now + 1))
        {
            Now = Math.Max(Now, host - _readAhead);
            return;
        }

        Lose();
        Now = Math.Max(Now, host);
    }

    /// <summary>Brings the head to a sector: nothing where the last read ended, the skew at a track's end, else a seek.</summary>
    public void MoveTo(in Segment segment, int turn, int sector, long physical)
    {
        int track = segment.TrackAt(turn);
        if (physical == _next)
        {
            if (sector == 0)
                Now += _turn * (turn == 0 ? HeadSkew : _layout.TrackSkew);
        }
        else
        {
            Seek(segment.Head, track);
            double angle = segment.AngleAt(turn, _layout.TrackSkew) + ((double)sector / segment.SectorsPerTrack);
            WaitFor(angle);
        }

        (_head, _track) = (segment.Head, track);
    }

    /// <summary>Reads sectors of the track under the head.</summary>
    public void Read(int sectors, in Segment segment) => Now += sectors * _turn / segment.SectorsPerTrack;

    /// <summary>Lets time pass at one place: tries that did not help, a pause.</summary>
    public void Spend(double nanoseconds) => Now += nanoseconds;

    /// <summary>Says where a read ended well.</summary>
    public void EndAt(long physical) => _next = physical;

    /// <summary>Forgets the place: the next read has to seek.</summary>
    public void Lose() => _next = -1;

    /// <summary>Turn between two heads, revolutions.</summary>
    public required double HeadSkew { get; init; }

    private void Seek(int head, int track)
    {
        double milliseconds = _seek.Milliseconds(Math.Abs(track - _track));
        if (head != _head)
            milliseconds += _timing.HeadSwitchMilliseconds;
        Now += milliseconds * 1e6;
    }

    private void WaitFor(double angle)
    {
        double wait = angle - (Now / _turn);
        wait -= Math.Floor(wait);
        // A sector that is just under the head counts as caught; rounding must not cost a turn.
        if (wait > 1 - 1e-9)
            wait = 0;
        if (_chance.Happens(_timing.MissedTurnChance))
            wait++;
        Now += wait * _turn;
    }
}
