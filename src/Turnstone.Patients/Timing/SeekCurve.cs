namespace Turnstone.Patients.Timing;

/// <summary>Time to move the arm by a number of tracks.</summary>
/// <remarks>
/// Three-point curve: Lee and Katz, SIGMETRICS 1993 (coefficients from memory; their mean over random pairs of tracks was
/// checked to come out as asked). With x = distance over stroke: t = tmin + a sqrt(x) + b x, a = (-10 tmin + 15 tavg - 5 tmax)/3,
/// b = (7 tmin - 15 tavg + 8 tmax)/3.
/// </remarks>
internal sealed class SeekCurve
{
    private readonly double _a, _b, _least, _stroke;

    public SeekCurve(TimingSpec timing, int strokeTracks)
    {
        (double least, double mean, double most) = (timing.SeekTrackMilliseconds, timing.SeekAverageMilliseconds, timing.SeekFullMilliseconds);
        _a = ((-10 * least) + (15 * mean) - (5 * most)) / 3;
        _b = ((7 * least) - (15 * mean) + (8 * most)) / 3;
        _least = least;
        _stroke = Math.Max(1, strokeTracks);
    }

    /// <summary>Milliseconds for a move by so many tracks; none for a move by none.</summary>
    public double Milliseconds(int tracks)
    {
        if (tracks == 0)
            return 0;
        double x = Math.Min(1, tracks / _stroke);
        return Math.Max(_least, _least + (_a * Math.Sqrt(x)) + (_b * x));
    }
}
