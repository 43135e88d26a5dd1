using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>Particles that settle from one range of sizes.</summary>
/// <param name="From">Smallest size.</param>
/// <param name="To">Next size; null for the last range, which has no end.</param>
/// <param name="Diameter">The size that stands for the range: geometric mean of its ends, the smallest for the last one.</param>
/// <param name="Concentration">Particles in the range.</param>
/// <param name="Velocity">Settling velocity.</param>
/// <param name="Expected">Expected number on the surface.</param>
/// <param name="TimesClearance">How many times the heads' clearance the particle is.</param>
public sealed record SizeRange(Length From, Length? To, Length Diameter, Concentration Concentration, Speed Velocity, double Expected, double TimesClearance);

/// <summary>What falls on an open surface, by gravity alone: a floor, for charge and turbulence bring more and a sleeve sheds more than any class limit says.</summary>
/// <param name="Ranges">By size.</param>
/// <param name="Surface">The open surface.</param>
/// <param name="Open">How long it is open.</param>
public sealed record Deposition(IReadOnlyList<SizeRange> Ranges, Area Surface, TimeSpan Open)
{
    /// <summary>Expected number of particles.</summary>
    public double Expected => Ranges.Sum(r => r.Expected);

    /// <summary>The chance that not one settles.</summary>
    public Probability None => new(Math.Exp(-Expected));

    /// <summary>Area of a platter's face.</summary>
    /// <param name="outer">Outer diameter.</param>
    /// <param name="inner">Diameter of the hole.</param>
    public static Area PlatterFace(Length outer, Length inner) =>
        new(Math.PI / 4 * ((outer.Metres * outer.Metres) - (inner.Metres * inner.Metres)));

    /// <summary>Air at the limit of a class, from the smallest size of 0.3 µm and more that the class has; larger blank cells by the formula.</summary>
    public static IReadOnlyList<(Length Size, Concentration AtLeast)> AirAtLimit(AirTable table, IsoClass isoClass) => [.. table.Sizes
        .Where(s => s.Micrometres > 0.29).SkipWhile(s => isoClass.Limit(table, s) is null)
        .Select(s => (s, isoClass.Limit(table, s) ?? new Concentration(isoClass.RawFormula(s))))];

    /// <summary>Computes the expected number: concentration × settling velocity × area × time, range by range.</summary>
    /// <param name="air">Concentration of particles of each size and larger, sizes ascending.</param>
    /// <param name="density">Of the particles.</param>
    /// <param name="surface">The open surface.</param>
    /// <param name="open">How long it is open.</param>
    /// <param name="clearance">Between head and surface.</param>
    public static Deposition On(IReadOnlyList<(Length Size, Concentration AtLeast)> air, Density density, Area surface, TimeSpan open, Length clearance)
    {
        var ranges = new List<SizeRange>();
        for (int i = 0; i < air.Count; i++)
        {
            Length? to = i + 1 < air.Count ? air[i + 1].Size : null;
            var diameter = new Length(to is { } end ? Math.Sqrt(air[i].Size.Metres * end.Metres) : air[i].Size.Metres);
            var within = new Concentration(air[i].AtLeast.PerCubicMetre - (to is null ? 0 : air[i + 1].AtLeast.PerCubicMetre));
            Speed velocity = Settling.Velocity(diameter, density);
            ranges.Add(new SizeRange(air[i].Size, to, diameter, within, velocity,
                within.PerCubicMetre * velocity.MetresPerSecond * surface.SquareMetres * open.TotalSeconds, diameter.Metres / clearance.Metres));
        }

        return new Deposition(ranges, surface, open);
    }
}
