using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>What a clean-air cabinet moves.</summary>
/// <param name="Face">Area of its face.</param>
/// <param name="Mean">Mean velocity.</param>
/// <param name="Spread">Standard deviation of the readings (n − 1); 0 with one reading.</param>
/// <param name="WorstFromMean">Largest distance of a reading from the mean, as a share of the mean.</param>
/// <param name="Flow">Volume flow.</param>
/// <param name="PointsNeeded">How many readings the face asks for.</param>
/// <param name="PointsRead">How many there are.</param>
/// <param name="Band">The band that velocities are held against.</param>
/// <param name="InBand">Whether the mean lies in it.</param>
public sealed record FaceFlow(Area Face, Speed Mean, Speed Spread, double WorstFromMean, Flow Flow, int PointsNeeded, int PointsRead, FaceBand Band, bool InBand)
{
    /// <summary>How even the flow is: 1 is perfectly even. (1 − s / mean); ISO 14644-3:2005 B.4 (from memory).</summary>
    public double Uniformity => 1 - (Spread.MetresPerSecond / Mean.MetresPerSecond);

    /// <summary>Computes the flow.</summary>
    /// <param name="width">Of the face.</param>
    /// <param name="height">Of the face.</param>
    /// <param name="readings">Velocities, at least one.</param>
    /// <param name="band">What is accepted.</param>
    /// <exception cref="ArgumentException">No reading, or a face without area or flow.</exception>
    /// <remarks>Points: max(4, √(10 A) rounded up), A in m², 150 to 300 mm from the face; ISO 14644-3:2005 B.4 (from memory).</remarks>
    public static FaceFlow Of(Length width, Length height, IReadOnlyList<Speed> readings, FaceBand band)
    {
        Area face = width * height;
        double[] v = [.. readings.Select(r => r.MetresPerSecond)];
        if (v.Length == 0 || face.SquareMetres <= 0 || v.Average() <= 0)
            throw new ArgumentException("a face with an area and at least one reading above 0 is needed", nameof(readings));
        double mean = v.Average();
        double spread = v.Length < 2 ? 0 : Math.Sqrt(v.Sum(x => (x - mean) * (x - mean)) / (v.Length - 1));
        return new FaceFlow(
            face, new Speed(mean), new Speed(spread), v.Max(x => Math.Abs(x - mean)) / mean, new Flow(face.SquareMetres * mean),
            Math.Max(4, (int)Math.Ceiling(Math.Sqrt(10 * face.SquareMetres))), v.Length, band,
            mean >= band.Low.MetresPerSecond && mean <= band.High.MetresPerSecond);
    }

    /// <summary>Air changes an hour in a cabinet of that depth.</summary>
    public double ChangesPerHour(Length depth) => Flow.CubicMetresPerHour / (Face.SquareMetres * depth.Metres);

    /// <summary>How long air stays in a cabinet of that depth.</summary>
    public TimeSpan Residence(Length depth) => TimeSpan.FromSeconds(depth.Metres / Mean.MetresPerSecond);
}
