using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests;

/// <summary>Random small drives, and short ways to make a patient.</summary>
internal static class Drawn
{
    /// <summary>Drives of any order, direction, density and zoning, small enough to look at each sector.</summary>
    public static Gen<DriveSpec> Drive { get; } =
        from surfaces in Gen.Int[1, 6]
        from zones in Gen.Int[1, 3]
        from tracks in Gen.Int[1, 40].Array[zones]
        from band in Gen.Int[1, 40].Array[zones]
        from outer in Gen.Int[6, 40]
        from order in Gen.Enum<BandOrder>()
        from direction in Gen.Enum<SweepDirection>()
        from spread in Gen.Double[0, 0.1]
        from heads in Gen.Shuffle(Enumerable.Range(0, surfaces).ToArray())
        from skew in Gen.Double[0, 0.5]
        select new DriveSpec
        {
            Surfaces = surfaces,
            Zones = [.. Enumerable.Range(0, zones).Select(z => new ZoneSpec(tracks[z], outer - z, Math.Min(band[z], tracks[z])))],
            Order = order,
            Direction = direction,
            HeadOrder = heads,
            DensitySpread = spread,
            TrackSkew = skew,
            HeadSkew = skew / 2,
        };

    public static Scenario Small(params IReadOnlyList<Damage> damage) => new()
    {
        Name = "small",
        Seed = 1,
        Drive = Presets.Small.Drive,
        Timing = Presets.Small.Timing,
        Damage = damage,
    };

    /// <summary>A drive of some ten megabytes: two heads, bands of four tracks.</summary>
    public static Scenario Tiny(params IReadOnlyList<Damage> damage) => Small(damage) with
    {
        Drive = new DriveSpec { Surfaces = 2, Zones = [new ZoneSpec(40, 40, 4)], TrackSkew = 0.1, HeadSkew = 0.2 },
    };
}
