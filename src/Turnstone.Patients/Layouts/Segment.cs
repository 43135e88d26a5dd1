namespace Turnstone.Patients.Layouts;

/// <summary>A run of physical sectors on one head, without a head switch.</summary>
/// <param name="First">First physical sector, in address order.</param>
/// <param name="Head">Which head.</param>
/// <param name="Zone">Which zone, 0 at the outer edge.</param>
/// <param name="FirstTrack">Its outermost track, counted on this surface from the outer edge.</param>
/// <param name="Tracks">How many tracks.</param>
/// <param name="Inward">Whether the address order walks from the outermost track inwards.</param>
/// <param name="SectorsPerTrack">Physical sectors on each of its tracks.</param>
/// <param name="Angle">Where its first sector starts, revolutions in [0, 1).</param>
public readonly record struct Segment(long First, int Head, int Zone, int FirstTrack, int Tracks, bool Inward, int SectorsPerTrack, double Angle)
{
    /// <summary>The physical sector after its last one.</summary>
    public long End => First + ((long)Tracks * SectorsPerTrack);

    /// <summary>The track that is read as number <paramref name="turn"/> of the segment.</summary>
    internal int TrackAt(int turn) => Inward ? FirstTrack + turn : FirstTrack + Tracks - 1 - turn;

    /// <summary>Where sector 0 of the track that is read as number <paramref name="turn"/> starts, revolutions.</summary>
    internal double AngleAt(int turn, double trackSkew) => Angle + (turn * trackSkew);
}

/// <summary>Where one physical sector lies.</summary>
/// <param name="Head">Which surface.</param>
/// <param name="Track">Which track of it, 0 at the outer edge.</param>
/// <param name="Sector">Which sector of the track.</param>
/// <param name="Angle">Where it starts, revolutions in [0, 1), the same zero for all surfaces.</param>
public readonly record struct Place(int Head, int Track, int Sector, double Angle);
