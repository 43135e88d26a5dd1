using System.Text.Json;
using Turnstone.Patients.Contents;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Scenarios;

/// <summary>Reads a whole scenario and refuses one that contradicts itself.</summary>
internal static class ScenarioReader
{
    public static Scenario Read(JsonElement root, string folder)
    {
        var c = new JsonCursor(root, "$");
        ulong seed = c.Seed("seed");
        Preset? preset = c.Has("preset") ? PresetOf(c) : null;
        DriveSpec drive = Drive(c, preset);
        Layout layout = LayoutBuilder.Build(drive, seed);
        long held = layout.Segments[^1].End * drive.LogicalPerPhysical;
        if (drive.CapacitySectors > held)
            throw new ScenarioException("$.drive.capacitySectors", $"{drive.CapacitySectors}, but the zones of {drive.Surfaces} surfaces hold {held} sectors");
        long capacity = drive.CapacitySectors ?? held;
        var scenario = new Scenario
        {
            Name = c.Text("name"),
            Seed = seed,
            Drive = drive,
            Timing = c.Object("timing") is { } timing ? DriveReader.Timing(timing, preset?.Timing) : preset?.Timing ?? throw c.Wrong("timing", "is missing, and there is no preset"),
            Damage = c.Objects("damage") is { } damage ? new DamageReader(layout, capacity).ReadAll(damage) : [],
            Wear = c.Object("wear") is { } wear ? Wear(wear) : new WearSpec(),
            Content = c.Object("content") is { } content ? Content(content, folder, capacity * drive.LogicalSectorBytes) : new ContentSpec.Seeded(),
            Files = c.Object("files") is { } files ? Files(files) : new FilesSpec(),
        };
        c.End();
        return scenario;
    }

    private static Preset PresetOf(JsonCursor c)
    {
        string name = c.Text("preset");
        return Presets.All.FirstOrDefault(p => p.Name == name)
            ?? throw c.Wrong("preset", $"no such preset; one of {string.Join(", ", Presets.All.Select(p => p.Name))} belongs here");
    }

    private static DriveSpec Drive(JsonCursor c, Preset? preset) =>
        c.Object("drive") is { } drive ? DriveReader.Drive(drive, preset?.Drive) : preset?.Drive ?? throw c.Wrong("drive", "is missing, and there is no preset");

    private static WearSpec Wear(JsonCursor c)
    {
        var plain = new WearSpec();
        var wear = new WearSpec
        {
            RetryFactor = c.Number("retryFactor", 0, 1000, plain.RetryFactor),
            MarginPerWear = c.Number("marginPerWear", 0, 10, plain.MarginPerWear),
            MarginPerTenDegrees = c.Number("marginPerTenDegrees", 0, 10, plain.MarginPerTenDegrees),
            WarmingDegrees = c.Number("warmingDegrees", 0, 100, plain.WarmingDegrees),
            WarmingMinutes = c.Number("warmingMinutes", 0.1, 10_000, plain.WarmingMinutes),
            Heads = DamageReader.Hazard(c, "heads", plain.Heads),
            DebrisChance = c.Number("debrisChance", 0, 1, plain.DebrisChance),
            DriveDeathsPerHour = c.Number("driveDeathsPerHour", 0, 1000, plain.DriveDeathsPerHour),
            DriveDeathPerReset = c.Number("driveDeathPerReset", 0, 1, plain.DriveDeathPerReset),
            DriveDeathPerSpinUp = c.Number("driveDeathPerSpinUp", 0, 1, plain.DriveDeathPerSpinUp),
        };
        c.End();
        return wear;
    }

    private static ContentSpec Content(JsonCursor c, string folder, long capacityBytes)
    {
        ContentSpec content = c.Text("kind") switch
        {
            "seeded" => new ContentSpec.Seeded(),
            "image" => new ContentSpec.Image(Path.GetFullPath(c.Text("path"), folder)),
            _ => throw c.Wrong("kind", "one of seeded, image belongs here"),
        };
        c.End();
        if (content is not ContentSpec.Image image)
            return content;
        var file = new FileInfo(image.Path);
        if (!file.Exists)
            throw c.Wrong("path", $"there is no file {image.Path}");
        return file.Length <= capacityBytes ? content : throw c.Wrong("path", $"the image has {file.Length} bytes and the drive holds {capacityBytes}");
    }

    private static FilesSpec Files(JsonCursor c)
    {
        var plain = new FilesSpec();
        var files = new FilesSpec
        {
            SkeletonShare = c.Number("skeletonShare", 0, 0.1, plain.SkeletonShare),
            AllocatedShare = c.Number("allocatedShare", 0, 1, plain.AllocatedShare),
            WishedShare = c.Number("wishedShare", 0, 1, plain.WishedShare),
            WishWeight = c.Number("wishWeight", 1, 1000, plain.WishWeight),
            MeanFileMegabytes = c.Number("meanFileMegabytes", 0.1, 100_000, plain.MeanFileMegabytes),
            FragmentedShare = c.Number("fragmentedShare", 0, 1, plain.FragmentedShare),
        };
        if (files.SkeletonShare + files.AllocatedShare > 1)
            throw c.Wrong("allocatedShare", $"{files.AllocatedShare} and a skeleton of {files.SkeletonShare} are more than the drive");
        c.End();
        return files;
    }
}
