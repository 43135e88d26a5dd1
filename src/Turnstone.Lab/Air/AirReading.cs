using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>Counts of one sample.</summary>
/// <param name="Place">Where it was taken.</param>
/// <param name="Volume">How much air.</param>
/// <param name="Counts">Particles of each size and larger.</param>
public sealed record AirSample(string Place, Volume Volume, IReadOnlyList<long> Counts);

/// <summary>What a particle counter found.</summary>
/// <param name="File">Where it was read from.</param>
/// <param name="Sizes">Sizes, ascending.</param>
/// <param name="Samples">Each sample with as many counts as there are sizes.</param>
public sealed record AirReading(string File, IReadOnlyList<Length> Sizes, IReadOnlyList<AirSample> Samples)
{
    /// <summary>Average concentration at each place for a size.</summary>
    public IReadOnlyList<PlaceAverage> Averages(int size) => [.. Samples.GroupBy(s => s.Place)
        .Select(g => new PlaceAverage(g.Key, g.Sum(s => s.Counts[size]), new Volume(g.Sum(s => s.Volume.CubicMetres)), g.Average(s => s.Counts[size] / s.Volume.CubicMetres)))];

    /// <summary>Reads a counter's table: lines of comma or semicolon separated columns under a heading line.</summary>
    /// <param name="file">Its name, for messages.</param>
    /// <param name="text">Headings are 'location' (or 'place'), 'volume (L)', and one like '>=0.5 µm' for each size; other columns are passed over.
    /// Lines that start with # are remarks; '# counts: differential' says that each column counts only up to the next size.</param>
    public static Understood<AirReading> Read(string file, string text) => CounterTable.Read(file, text);
}

/// <summary>What was found at one place for one size.</summary>
/// <param name="Place">Where.</param>
/// <param name="Counts">All particles counted there.</param>
/// <param name="Volume">All air counted there.</param>
/// <param name="PerCubicMetre">Average concentration of its samples.</param>
public sealed record PlaceAverage(string Place, long Counts, Volume Volume, double PerCubicMetre);
