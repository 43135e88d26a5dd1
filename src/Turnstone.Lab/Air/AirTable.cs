using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>Which text of ISO 14644-1 a claim rests on.</summary>
public enum Edition
{
    /// <summary>ISO 14644-1:2015.</summary>
    Iso2015,

    /// <summary>ISO 14644-1:1999, to read old certificates.</summary>
    Iso1999,
}

/// <summary>The numbers that clean air is judged by; a laboratory edits them.</summary>
public sealed record AirTable
{
    /// <summary>Name of the table's file.</summary>
    public const string File = "air.json";

    /// <summary>Where the limits come from.</summary>
    public required string Source { get; init; }

    /// <summary>Particle sizes of the limit columns, ascending.</summary>
    public required IReadOnlyList<Length> Sizes { get; init; }

    /// <summary>By year of the edition: nine rows of limits per cubic metre for classes 1 to 9; null where a size may not be used for a class.</summary>
    public required IReadOnlyDictionary<string, IReadOnlyList<IReadOnlyList<double?>>> Limits { get; init; }

    /// <summary>How many places must be sampled, by area.</summary>
    public required IReadOnlyList<LocationRow> Locations { get; init; }

    /// <summary>The band for the velocity at a cabinet's face.</summary>
    public required FaceBand Face { get; init; }

    /// <summary>How often a cabinet is checked.</summary>
    public required CheckIntervals Checks { get; init; }

    /// <summary>Filter classes.</summary>
    public required FilterTable Filters { get; init; }

    /// <summary>Reads the table.</summary>
    public static Understood<AirTable> Read(TableShelf shelf) => shelf.Read<AirTable>(File, Check);

    internal double? Cell(Edition edition, int isoClass, int size) => Limits[Year(edition)][isoClass - 1][size];

    internal int IndexOf(Length size) => Sizes.ToList().FindIndex(s => Math.Abs((s.Metres / size.Metres) - 1) < 1e-6);

    private static string Year(Edition edition) => edition switch { Edition.Iso2015 => "2015", Edition.Iso1999 => "1999" };

    private static IEnumerable<Complaint> Check(AirTable table)
    {
        foreach (Edition edition in Enum.GetValues<Edition>())
        {
            if (!table.Limits.TryGetValue(Year(edition), out var rows) || rows.Count != 9)
                yield return new("limits", $"nine rows are expected for {Year(edition)}, one for each class");
            else if (rows.ToList().FindIndex(r => r.Count != table.Sizes.Count || r.Any(c => c is <= 0)) is var bad && bad >= 0)
                yield return new($"limits.{Year(edition)}[{bad}]", $"{table.Sizes.Count} limits above 0 are expected, one for each size, null where there is none");
        }

        if (table.Locations.Zip(table.Locations.Skip(1)).Any(p => p.First.UpTo.SquareMetres >= p.Second.UpTo.SquareMetres))
            yield return new("locations", "areas must grow from row to row");
        if (table.Face.Low.MetresPerSecond >= table.Face.High.MetresPerSecond)
            yield return new("face", "the low end must be below the high end");
    }
}

/// <summary>Places to sample in an area.</summary>
/// <param name="UpTo">Largest area of the row.</param>
/// <param name="Count">Fewest places.</param>
public sealed record LocationRow(Area UpTo, int Count);

/// <summary>Velocities that are accepted at a cabinet's face.</summary>
/// <param name="Source">Where they come from.</param>
/// <param name="Low">Lowest.</param>
/// <param name="High">Highest.</param>
public sealed record FaceBand(string Source, Speed Low, Speed High);

/// <summary>How often a cabinet is checked.</summary>
/// <param name="Source">Where it comes from.</param>
/// <param name="CountEvery">Longest time between particle counts.</param>
/// <param name="VelocityEvery">Longest time between velocity checks.</param>
/// <param name="FilterAge">Oldest filter.</param>
public sealed record CheckIntervals(string Source, TimeSpan CountEvery, TimeSpan VelocityEvery, TimeSpan FilterAge);

/// <summary>Filter classes.</summary>
/// <param name="Source">Where they come from.</param>
/// <param name="Classes">Each class.</param>
public sealed record FilterTable(string Source, IReadOnlyList<FilterClass> Classes);

/// <summary>A filter class.</summary>
/// <param name="Name">Such as H14.</param>
/// <param name="Penetration">The most that passes at the most penetrating size, over the whole face.</param>
public sealed record FilterClass(string Name, Probability Penetration)
{
    /// <summary>The most particles that an intact filter lets through; a torn seal or a hand upstream breaks the bound.</summary>
    public Concentration Behind(Concentration before) => new(before.PerCubicMetre * Penetration.Value);
}
