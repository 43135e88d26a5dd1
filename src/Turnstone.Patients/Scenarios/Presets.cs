using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Scenarios;

/// <summary>A drive to start from.</summary>
/// <param name="Name">How a scenario file calls it.</param>
/// <param name="Drive">How sectors lie.</param>
/// <param name="Timing">How long things take.</param>
public sealed record Preset(string Name, DriveSpec Drive, TimingSpec Timing);

/// <summary>Healthy drives with the general behaviour of their kind; no product is meant.</summary>
/// <remarks>
/// Sectors per track fall in equal steps from the outer to the inner zone; the sequential rate is sectors · 4096 over
/// turn · (1 + track skew). Tracks follow from the capacity. Tracks per band are an assumption: no published table was found.
/// </remarks>
public static class Presets
{
    /// <summary>2.5-inch, 5400 turns a minute, five platters, 4 TB: 137 to 69 MB/s.</summary>
    public static Preset Portable { get; } = new("portable-4tb", Drive(10, 304_000, 432, 216, 24, 100, 0.16, 0.25, 7_814_037_168), Slow);

    /// <summary>3.5-inch, 7200 turns a minute, four platters, 8 TB: 225 to 112 MB/s.</summary>
    public static Preset Desktop { get; } = new("desktop-8tb", Drive(8, 641_000, 512, 256, 24, 120, 0.12, 0.2, 15_628_053_168), Fast);

    /// <summary>A small one for tests: two platters, 40 GB.</summary>
    public static Preset Small { get; } = new("small-40gb", Drive(4, 7_650, 432, 216, 8, 40, 0.16, 0.25, 78_140_160), Slow);

    /// <summary>All of them.</summary>
    public static IReadOnlyList<Preset> All => [Portable, Desktop, Small];

    /// <summary>Timing of a 2.5-inch drive at 5400 turns a minute.</summary>
    public static TimingSpec Slow => new()
    {
        Rpm = 5400,
        SeekTrackMilliseconds = 1,
        SeekAverageMilliseconds = 12,
        SeekFullMilliseconds = 20,
        HeadSwitchMilliseconds = 2,
    };

    /// <summary>Timing of a 3.5-inch drive at 7200 turns a minute.</summary>
    public static TimingSpec Fast => new()
    {
        Rpm = 7200,
        SeekTrackMilliseconds = 0.8,
        SeekAverageMilliseconds = 8.5,
        SeekFullMilliseconds = 17,
        HeadSwitchMilliseconds = 1.4,
        SpinUpSeconds = 12,
    };

    /// <summary>Equal zones whose sectors per track fall evenly from the outer to the inner edge.</summary>
    /// <param name="tracks">Tracks on one surface.</param>
    /// <param name="outer">Sectors on a track of the outermost zone.</param>
    /// <param name="inner">Sectors on a track of the innermost zone.</param>
    /// <param name="zones">How many zones.</param>
    /// <param name="tracksPerBand">Tracks that one head reads before the next takes over.</param>
    public static IReadOnlyList<ZoneSpec> EvenZones(int tracks, int outer, int inner, int zones, int tracksPerBand) =>
    [
        .. Enumerable.Range(0, zones).Select(z => new ZoneSpec(
            (int)((tracks * (z + 1L) / zones) - ((long)tracks * z / zones)),
            outer - (int)Math.Round((outer - inner) * (double)z / Math.Max(1, zones - 1)),
            tracksPerBand)),
    ];

    private static DriveSpec Drive(int surfaces, int tracks, int outer, int inner, int zones, int tracksPerBand, double trackSkew, double headSkew, long capacity) => new()
    {
        Surfaces = surfaces,
        Zones = EvenZones(tracks, outer, inner, zones, tracksPerBand),
        Direction = SweepDirection.Alternating,
        DensitySpread = 0.03,
        TrackSkew = trackSkew,
        HeadSkew = headSkew,
        CapacitySectors = capacity,
    };
}
