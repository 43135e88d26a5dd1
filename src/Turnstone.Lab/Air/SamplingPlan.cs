using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>How much air must be counted where, for a class to be claimed.</summary>
/// <param name="Class">The class.</param>
/// <param name="Sizes">Particle sizes that are considered.</param>
/// <param name="Locations">Fewest places.</param>
/// <param name="Volume">Least volume at each place.</param>
/// <param name="Time">Least time at each place with the counter's flow.</param>
/// <param name="Limits">The limit for each size, in the order of the sizes.</param>
public sealed record SamplingPlan(IsoClass Class, IReadOnlyList<Length> Sizes, int Locations, Volume Volume, TimeSpan Time, IReadOnlyList<Concentration> Limits)
{
    /// <summary>Makes the plan.</summary>
    /// <param name="table">Limits and places.</param>
    /// <param name="area">Of the face or room.</param>
    /// <param name="isoClass">What is to be claimed.</param>
    /// <param name="sizes">Sizes to consider.</param>
    /// <param name="flow">What the counter draws.</param>
    /// <param name="edition">Which edition.</param>
    /// <param name="plan">The plan, where there is one.</param>
    /// <returns>Why such a claim can't be made; null where it can.</returns>
    public static string? TryMake(AirTable table, Area area, IsoClass isoClass, IReadOnlyList<Length> sizes, Flow flow, Edition edition, out SamplingPlan? plan)
    {
        plan = null;
        Length[] ascending = [.. sizes.OrderBy(s => s.Metres)];
        if (Complaint(table, area, isoClass, ascending, flow, edition) is { } wrong)
            return wrong;
        Concentration[] limits = [.. ascending.Select(s => isoClass.Limit(table, s, edition)!.Value)];
        Volume volume = LeastVolume(limits[^1]);
        var time = TimeSpan.FromSeconds(Math.Max(60, volume.CubicMetres / flow.CubicMetresPerSecond));
        plan = new SamplingPlan(isoClass, ascending, PlacesIn(table, area, edition), volume, time, limits);
        return null;
    }

    /// <summary>Fewest places in an area.</summary>
    /// <remarks>
    /// 2015: Table A.1, over 1000 m² Formula A.1 (both from memory; the table agrees with the hypergeometric computation that it rests on:
    /// Hartvig et al., Journal of the IEST 54(1), 2011). 1999: the square root of the area, rounded up.
    /// </remarks>
    public static int PlacesIn(AirTable table, Area area, Edition edition) => edition switch
    {
        Edition.Iso2015 => table.Locations.FirstOrDefault(r => area.SquareMetres <= r.UpTo.SquareMetres)?.Count ?? (int)Math.Ceiling(27 * area.SquareMetres / 1000),
        Edition.Iso1999 => Math.Max(1, (int)Math.Ceiling(Math.Sqrt(area.SquareMetres))),
    };

    /// <summary>Least volume of one sample: 20 particles expected at the limit of the largest size, at least 2 litres.</summary>
    /// <remarks>ISO 14644-1:2015 A.4.4, Formula A.2 (from memory).</remarks>
    public static Volume LeastVolume(Concentration limitOfLargest) => new(Math.Max(0.002, 20 / limitOfLargest.PerCubicMetre));

    private static string? Complaint(AirTable table, Area area, IsoClass isoClass, Length[] sizes, Flow flow, Edition edition)
    {
        if (sizes.Length == 0)
            return "no particle size was given; name at least one, such as '0.5 µm'";
        if (area.SquareMetres <= 0 || flow.CubicMetresPerSecond <= 0)
            return "area and flow must be above 0";
        foreach (Length size in sizes.Where(s => isoClass.Limit(table, s, edition) is null))
            return $"ISO class {isoClass} may not be claimed at {size.Micrometres:0.##} µm: the standard has no limit there; choose another size";
        (Length First, Length Second)[] near = [.. sizes.Zip(sizes.Skip(1)).Where(p => p.Second.Metres < 1.5 * p.First.Metres * (1 - 1e-9))];
        return near.Length == 0 ? null : $"{near[0].First.Micrometres:0.##} and {near[0].Second.Micrometres:0.##} µm are too near each other: each size must be at least 1.5 times the next smaller one";
    }
}
