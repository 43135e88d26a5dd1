using Turnstone.Media;
using Turnstone.Reading.Storage;

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

    public void Dispose() => _opened.Dispose();
}

/// <summary>A sector size from the command line.</summary>
internal static class SectorArgument
{
    public static SectorSize Of(int bytes) => bytes is >= 512 and <= 65_536 && int.IsPow2(bytes)
        ? new SectorSize(bytes)
        : throw new BadInputException($"{bytes} is no sector size: write 512 or 4096");
}
