using System.CommandLine;
using Turnstone.Media;
using Turnstone.Reading.Storage;
using Turnstone.Volumes;

namespace Turnstone.Cli;

/// <summary>What is held of a patient, whichever way it was kept: the folder of a read, or a finished image from elsewhere.</summary>
internal sealed class Patient : IDisposable
{
    private readonly IDisposable _opened;

    private Patient(ISectorView view, string id, IDisposable opened)
    {
        View = view;
        Id = id;
        _opened = opened;
    }

    public ISectorView View { get; }

    /// <summary>Tells this image from every other one, so that two hand-overs never end up in one bag.</summary>
    public string Id { get; }

    public static Patient Open(string path, int sector)
    {
        if (Directory.Exists(path))
        {
            ReadFolder folder = ReadFolder.Look(path);
            ReadRecord record = folder.Record;
            return new Patient(folder.View, $"{folder.Path}|{record.Source.Model}|{record.Source.Serial}|{record.Geometry.Capacity}", folder);
        }

        if (!File.Exists(path))
            throw new BadInputException($"there is nothing at '{path}': name the folder of a read or an image file");
        var image = new ImageView(path, SectorArgument.Of(sector));
        return new Patient(image, $"{Path.GetFullPath(path)}|{image.Length}", image);
    }

    /// <summary>The partitions and volumes; with a search also volumes that no table leads to, those that agree with themselves at least by half.</summary>
    public Disk ReadDisk(bool search)
    {
        Disk disk = Disk.Read(View);
        if (!search)
            return disk;
        LostVolume[] lost = [.. LostVolumes.Search(View, disk).Where(found => found.Consistency >= 0.5)];
        IEnumerable<string> notes = lost.Select(found => $"found by searching: {found.Volume.Facts.Name}, {found.Volume.Facts.Kind}, consistency {found.Consistency:0.00} ({string.Join("; ", found.Evidence)})");
        return disk with { Volumes = [.. disk.Volumes, .. lost.Select(found => found.Volume)], Notes = [.. disk.Notes, .. notes] };
    }

    public void Dispose() => _opened.Dispose();
}

/// <summary>The option to search for lost volumes, alike in every verb that has it.</summary>
internal static class SearchOption
{
    public static Option<bool> Make() => new("--search") { Description = "also look through all held bytes for volumes that no partition table leads to" };
}

/// <summary>A sector size from the command line.</summary>
internal static class SectorArgument
{
    public static SectorSize Of(int bytes) => bytes is >= 512 and <= 65_536 && int.IsPow2(bytes)
        ? new SectorSize(bytes)
        : throw new BadInputException($"{bytes} is no sector size: write 512 or 4096");
}
