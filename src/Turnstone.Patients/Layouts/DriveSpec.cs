namespace Turnstone.Patients.Layouts;

/// <summary>In which order the heads of one band follow each other.</summary>
/// <remarks>Names of the layout families: Gim and Won, ACM TOS 6(2), article 6, 2010; mappings 0, 1 and 2 of layout_g1 in the DiskSim 4 disk model manual.</remarks>
public enum BandOrder
{
    /// <summary>The same order in each band (mapping 0 when a band is one track wide).</summary>
    Cyclic,

    /// <summary>Every other band the other way round, beginning anew in each zone (mapping 1).</summary>
    Reversing,

    /// <summary>Every other band the other way round, counted through all zones (mapping 2).</summary>
    ReversingThroughout,
}

/// <summary>Which way a head walks over the tracks of one band.</summary>
public enum SweepDirection
{
    /// <summary>Every head from the outer to the inner edge of the band.</summary>
    Inward,

    /// <summary>Every other head back towards the outer edge.</summary>
    Alternating,
}

/// <summary>A stretch of every surface with the same number of sectors on each track.</summary>
/// <param name="Tracks">Tracks on one surface of nominal density; at least 1.</param>
/// <param name="SectorsPerTrack">Physical sectors on one track of nominal density; at least 1.</param>
/// <param name="TracksPerBand">Tracks that one head reads before the next head takes over, from 1 to <paramref name="Tracks"/>;
/// tens to a few hundred on current drives (no published table found).</param>
public sealed record ZoneSpec(int Tracks, int SectorsPerTrack, int TracksPerBand);

/// <summary>A second level of translation, as shingled drives have it.</summary>
/// <param name="BandMegabytes">Size of one band, 10^6 bytes; 15 to 40 were measured (Aghayev and Desnoyers, Skylight, FAST 2015, from memory).</param>
/// <param name="UnmappedShare">Share of the bands that were never written or were trimmed: they read as zeros at once.</param>
/// <param name="Dynamic">Whether bands lie in any order; else a band lies where its address says.</param>
/// <param name="RewrittenShare">Share of the bands with a piece (4 to 256 KiB) that lies in the cache at the outer edge instead.</param>
public sealed record ShingledSpec(double BandMegabytes, double UnmappedShare, bool Dynamic, double RewrittenShare);

/// <summary>How sectors lie on the surfaces of a drive.</summary>
public sealed record DriveSpec
{
    /// <summary>Recording surfaces, one head each; 1 to 32.</summary>
    public required int Surfaces { get; init; }

    /// <summary>Sector that is addressed, bytes.</summary>
    public int LogicalSectorBytes { get; init; } = 512;

    /// <summary>Sector on the surface, bytes: damage takes whole ones.</summary>
    public int PhysicalSectorBytes { get; init; } = 4096;

    /// <summary>Zones from the outer to the inner edge.</summary>
    public required IReadOnlyList<ZoneSpec> Zones { get; init; }

    /// <summary>Order of the heads in a band.</summary>
    public BandOrder Order { get; init; }

    /// <summary>Direction of the heads in a band.</summary>
    public SweepDirection Direction { get; init; }

    /// <summary>The heads in the order of a band; null for 0, 1, 2 and so on.</summary>
    public IReadOnlyList<int>? HeadOrder { get; init; }

    /// <summary>Each head's density against nominal, as a share from -0.2 to 0.2; null to draw it from <see cref="DensitySpread"/>.</summary>
    public IReadOnlyList<double>? Density { get; init; }

    /// <summary>Deviation of the heads' densities; 0 for a drive with plain zones. Drawn normal and cut at ±0.1 (an assumption
    /// shaped to Krevat, Tucek and Ganger, Disks Are Like Snowflakes, HotOS 2011: heads of one drive differ by several percent).</summary>
    public double DensitySpread { get; init; }

    /// <summary>Turn between the end of a track and the start of the next one on the same surface, revolutions; 0.10 to 0.20 on current drives (from memory).</summary>
    public double TrackSkew { get; init; }

    /// <summary>Turn between the last sector under one head and the first under the next, revolutions; 0.10 to 0.35 (from memory).</summary>
    public double HeadSkew { get; init; }

    /// <summary>Logical sectors that the drive reports; null for all that its zones hold.</summary>
    public long? CapacitySectors { get; init; }

    /// <summary>The second level of translation; null for a drive without one.</summary>
    public ShingledSpec? Shingled { get; init; }

    /// <summary>Logical sectors in one physical sector.</summary>
    internal int LogicalPerPhysical => PhysicalSectorBytes / LogicalSectorBytes;
}
