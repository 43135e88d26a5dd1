using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Scenarios;

/// <summary>Reads how a drive is built and how long it takes; a field that is left out is the preset's, where there is one.</summary>
internal static class DriveReader
{
    private const int MostTracks = 2_000_000, MostSegments = 4_000_000;
    private const double Day = 86_400;

    public static DriveSpec Drive(JsonCursor c, DriveSpec? preset)
    {
        int surfaces = c.Int("surfaces", 1, 32, preset?.Surfaces);
        int logical = SectorBytes(c, "logicalSectorBytes", preset?.LogicalSectorBytes ?? 512);
        var drive = new DriveSpec
        {
            Surfaces = surfaces,
            LogicalSectorBytes = logical,
            PhysicalSectorBytes = SectorBytes(c, "physicalSectorBytes", preset?.PhysicalSectorBytes ?? 4096),
            Zones = Zones(c, surfaces, preset?.Zones),
            Order = c.Word("order", preset?.Order ?? BandOrder.Cyclic),
            Direction = c.Word("direction", preset?.Direction ?? SweepDirection.Inward),
            HeadOrder = HeadOrder(c, surfaces) ?? preset?.HeadOrder,
            Density = Density(c, surfaces) ?? preset?.Density,
            DensitySpread = c.Number("densitySpread", 0, 0.1, preset?.DensitySpread ?? 0),
            TrackSkew = c.Number("trackSkew", 0, 0.99, preset?.TrackSkew ?? 0),
            HeadSkew = c.Number("headSkew", 0, 0.99, preset?.HeadSkew ?? 0),
            Shingled = c.Object("shingled") is { } shingled ? Shingled(shingled) : preset?.Shingled,
            CapacitySectors = c.Has("capacitySectors") ? c.Whole("capacitySectors", 1, long.MaxValue / 65_536) : CapacityOf(c, preset),
        };
        if (drive.PhysicalSectorBytes < logical)
            throw c.Wrong("physicalSectorBytes", $"{drive.PhysicalSectorBytes}, less than a logical sector of {logical}");
        c.End();
        return drive;
    }

    public static TimingSpec Timing(JsonCursor c, TimingSpec? preset)
    {
        TimingSpec plain = preset ?? Presets.Slow;
        var timing = new TimingSpec
        {
            Rpm = c.Number("rpm", 100, 100_000, preset?.Rpm),
            SeekTrackMilliseconds = c.Number("seekTrackMilliseconds", 0.01, 1000, preset?.SeekTrackMilliseconds),
            SeekAverageMilliseconds = c.Number("seekAverageMilliseconds", 0.01, 1000, preset?.SeekAverageMilliseconds),
            SeekFullMilliseconds = c.Number("seekFullMilliseconds", 0.01, 1000, preset?.SeekFullMilliseconds),
            HeadSwitchMilliseconds = c.Number("headSwitchMilliseconds", 0.01, 1000, preset?.HeadSwitchMilliseconds),
            CommandMilliseconds = c.Number("commandMilliseconds", 0, 1000, plain.CommandMilliseconds),
            CommandNoiseMilliseconds = c.Number("commandNoiseMilliseconds", 0, 100, plain.CommandNoiseMilliseconds),
            MissedTurnChance = c.Number("missedTurnChance", 0, 1, plain.MissedTurnChance),
            InterfaceMegabytesPerSecond = c.Number("interfaceMegabytesPerSecond", 0.01, 100_000, plain.InterfaceMegabytesPerSecond),
            ReadAheadKibibytes = c.Number("readAheadKibibytes", 0, 4_194_304, plain.ReadAheadKibibytes),
            Attempts = c.Int("attempts", 1, 10_000, plain.Attempts),
            LateRecoverySeconds = c.Number("lateRecoverySeconds", 0, Day, plain.LateRecoverySeconds),
            RecoveryLimitSeconds = c.NumberOrNone("recoveryLimitSeconds", 0.1, Day) ?? plain.RecoveryLimitSeconds,
            DeadHeadSecondsMin = c.Number("deadHeadSecondsMin", 0, Day, plain.DeadHeadSecondsMin),
            DeadHeadSecondsMax = c.Number("deadHeadSecondsMax", 0, Day, plain.DeadHeadSecondsMax),
            SpinUpSeconds = c.Number("spinUpSeconds", 0, Day, plain.SpinUpSeconds),
            ResetSeconds = c.Number("resetSeconds", 0, Day, plain.ResetSeconds),
            HostLimitSeconds = c.Number("hostLimitSeconds", 0.1, Day, plain.HostLimitSeconds),
            RecalibrationEverySeconds = c.NumberOrNone("recalibrationEverySeconds", 1, Day) ?? plain.RecalibrationEverySeconds,
        };
        if (timing.SeekAverageMilliseconds < timing.SeekTrackMilliseconds || timing.SeekFullMilliseconds < timing.SeekAverageMilliseconds)
            throw c.Wrong("seekAverageMilliseconds", "seek times must not fall from one track over the average to the full stroke");
        if (timing.DeadHeadSecondsMax < timing.DeadHeadSecondsMin)
            throw c.Wrong("deadHeadSecondsMax", $"{timing.DeadHeadSecondsMax}, less than the shortest answer of {timing.DeadHeadSecondsMin}");
        c.End();
        return timing;
    }

    // A drive that is built otherwise than the preset has no reason to keep its capacity.
    private static long? CapacityOf(JsonCursor c, DriveSpec? preset) =>
        c.Has("surfaces") || c.Has("zones") || c.Has("density") || c.Has("shingled") ? null : preset?.CapacitySectors;

    private static int SectorBytes(JsonCursor c, string name, int otherwise)
    {
        int bytes = c.Int(name, 512, 65_536, otherwise);
        return int.IsPow2(bytes) ? bytes : throw c.Wrong(name, $"{bytes}, where a power of two belongs");
    }

    private static IReadOnlyList<ZoneSpec> Zones(JsonCursor c, int surfaces, IReadOnlyList<ZoneSpec>? preset)
    {
        IReadOnlyList<ZoneSpec> zones = c.IsList("zones") ? [.. c.Objects("zones")!.Select(Zone)]
            : c.Object("zones") is { } even ? EvenZones(even)
            : preset ?? throw c.Wrong("zones", "is missing");
        if (zones.Count == 0)
            throw c.Wrong("zones", "an empty list, where at least one zone belongs");
        for (int i = 1; i < zones.Count; i++)
        {
            if (zones[i].SectorsPerTrack > zones[i - 1].SectorsPerTrack)
                throw c.Wrong($"zones[{i}].sectorsPerTrack", $"{zones[i].SectorsPerTrack}, more than the {zones[i - 1].SectorsPerTrack} of the zone outside it: tracks get shorter inwards");
        }

        long tracks = zones.Sum(z => (long)z.Tracks), segments = zones.Sum(z => (((long)z.Tracks + z.TracksPerBand - 1) / z.TracksPerBand) * surfaces);
        if (tracks > MostTracks)
            throw c.Wrong("zones", $"{tracks} tracks on one surface; at most {MostTracks}");
        if (segments > MostSegments)
            throw c.Wrong("zones", $"{segments} changes of head; at most {MostSegments}: give bands more tracks");
        if (c.Has("tracksPerSurface") && c.Whole("tracksPerSurface", 1, MostTracks) != tracks)
            throw c.Wrong("zones", $"the zones add up to {tracks} tracks, while tracksPerSurface says {c.Whole("tracksPerSurface", 1, MostTracks)}");
        return zones;
    }

    private static ZoneSpec Zone(JsonCursor c)
    {
        var zone = new ZoneSpec(c.Int("tracks", 1, MostTracks), c.Int("sectorsPerTrack", 1, 100_000), c.Int("tracksPerBand", 1, MostTracks));
        if (zone.TracksPerBand > zone.Tracks)
            throw c.Wrong("tracksPerBand", $"{zone.TracksPerBand}, more than the zone's {zone.Tracks} tracks");
        c.End();
        return zone;
    }

    private static IReadOnlyList<ZoneSpec> EvenZones(JsonCursor c)
    {
        int count = c.Int("count", 1, 1000), tracks = c.Int("tracks", count, MostTracks);
        int outer = c.Int("outerSectors", 1, 100_000), inner = c.Int("innerSectors", 1, 100_000);
        if (inner > outer)
            throw c.Wrong("innerSectors", $"{inner}, more than the {outer} of the outer edge: tracks get shorter inwards");
        IReadOnlyList<ZoneSpec> zones = Presets.EvenZones(tracks, outer, inner, count, c.Int("tracksPerBand", 1, tracks / count));
        c.End();
        return zones;
    }

    private static int[]? HeadOrder(JsonCursor c, int surfaces)
    {
        if (c.Numbers("headOrder", 0, surfaces - 1) is not { } numbers)
            return null;
        int[] order = [.. numbers.Select(n => (int)n)];
        return numbers.All(double.IsInteger) && order.Order().SequenceEqual(Enumerable.Range(0, surfaces))
            ? order
            : throw c.Wrong("headOrder", $"must name each head from 0 to {surfaces - 1} once");
    }

    private static IReadOnlyList<double>? Density(JsonCursor c, int surfaces)
    {
        IReadOnlyList<double>? density = c.Numbers("density", -0.2, 0.2);
        return density is null || density.Count == surfaces
            ? density
            : throw c.Wrong("density", $"{density.Count} numbers for {surfaces} surfaces");
    }

    private static ShingledSpec Shingled(JsonCursor c)
    {
        var spec = new ShingledSpec(
            c.Number("bandMegabytes", 1, 10_000, 30), c.Number("unmappedShare", 0, 1, 0), c.Flag("dynamic", otherwise: false), c.Number("rewrittenShare", 0, 1, 0));
        c.End();
        return spec;
    }
}
