using Turnstone.Media;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Damages;

/// <summary>Damaged ground on one surface: a ring where it covers the whole turn, else an arc that may slant.</summary>
internal readonly record struct Mark(int Head, int FromTrack, int Tracks, double FromAngle, double Turn, double Slant, double SoftShare, RefusalCause Cause)
{
    public int EndTrack => FromTrack + Tracks;

    public bool Touches(in Segment segment) =>
        segment.Head == Head && segment.FirstTrack < EndTrack && FromTrack < segment.FirstTrack + segment.Tracks;

    /// <summary>The first sector of a track that starts inside the mark, and how many follow it, over the track's end if need be.</summary>
    /// <param name="track">Which track; inside the mark.</param>
    /// <param name="sectors">Sectors on it.</param>
    /// <param name="angle">Where its sector 0 starts, revolutions.</param>
    public (int First, int Count) On(int track, int sectors, double angle)
    {
        if (Turn >= 1)
            return (0, sectors);
        double from = FromAngle + (Slant * (track - FromTrack)) - angle;
        int first = (int)Math.Ceiling((from - Math.Floor(from)) * sectors) % sectors;
        return (first, Math.Max(1, (int)Math.Round(Turn * sectors)));
    }
}
