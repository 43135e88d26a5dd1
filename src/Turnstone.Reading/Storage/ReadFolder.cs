using System.Globalization;
using Turnstone.Media;
using Turnstone.Media.Target;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Storage;

/// <summary>The folder of one read: image.raw, read.db beside it, and a lock while a process reads into it.</summary>
/// <remarks>The form of all three: docs/formats/read-folder.md.</remarks>
public sealed class ReadFolder : IDisposable
{
    private const string ImageName = "image.raw", DatabaseName = "read.db", LockName = "read.lock";
    private readonly FileStream? _lock;

    private ReadFolder(string path, ReadDatabase database, IImageTarget image, FileStream? hold)
    {
        Path = path;
        Database = database;
        Image = image;
        _lock = hold;
        Record = database.Record();
        Map = database.LoadMap(Record.Geometry.Capacity);
        View = new HeldView(Map, image, Record.Geometry.Logical);
    }

    /// <summary>The folder.</summary>
    public string Path { get; }

    /// <summary>Whose read it is.</summary>
    public ReadRecord Record { get; }

    /// <summary>The map as it was last made durable, and as it goes on from there.</summary>
    public ReadMap Map { get; }

    /// <summary>The image.</summary>
    public IImageTarget Image { get; }

    /// <summary>What is held, as everybody above sees it.</summary>
    public ISectorView View { get; }

    internal ReadDatabase Database { get; }

    /// <summary>Path of the image in a folder.</summary>
    public static string ImagePath(string folder) => System.IO.Path.Combine(folder, ImageName);

    /// <summary>Whether a folder holds a read.</summary>
    public static bool Is(string folder) => File.Exists(System.IO.Path.Combine(folder, DatabaseName));

    /// <summary>Begins a read in a new or empty folder, or goes on with the one that is there.</summary>
    /// <param name="folder">Where; made if need be.</param>
    /// <param name="patient">Who is read.</param>
    /// <param name="needsSpace">Whether to refuse when the image may not fit.</param>
    /// <exception cref="ReadFolderException">Another process reads there, another patient's read is there, or its map is damaged.</exception>
    /// <exception cref="TargetFailure">The target cannot take the image.</exception>
    public static ReadFolder Begin(string folder, ReadRecord patient, bool needsSpace) => Begin(folder, patient, needsSpace, image => image);

    /// <summary>The same with a wrapper around the image, so that a bench can lose what was not yet durable.</summary>
    internal static ReadFolder Begin(string folder, ReadRecord patient, bool needsSpace, Func<IImageTarget, IImageTarget> around)
    {
        string full = System.IO.Path.GetFullPath(folder);
        MakeFolder(full);
        FileStream hold = Hold(full);
        try
        {
            if (!Is(full))
                return Create(full, patient, needsSpace, hold, around);
            ReadDatabase database = ReadDatabase.Open(System.IO.Path.Combine(full, DatabaseName), toWrite: true);
            return Resume(full, patient, needsSpace, hold, database, around);
        }
        catch
        {
            hold.Dispose();
            throw;
        }
    }

    /// <summary>Opens a read to look at; a process may be reading into it meanwhile.</summary>
    /// <exception cref="ReadFolderException">There is no read, or its map is damaged.</exception>
    /// <exception cref="TargetFailure">The image is gone or cut.</exception>
    public static ReadFolder Look(string folder)
    {
        string full = System.IO.Path.GetFullPath(folder);
        if (!Is(full))
            throw new ReadFolderException($"{folder} holds no read: there is no {DatabaseName} in it");
        ReadDatabase database = ReadDatabase.Open(System.IO.Path.Combine(full, DatabaseName), toWrite: false);
        return new ReadFolder(full, database, RawImage.Look(ImagePath(full)), hold: null);
    }

    /// <summary>Closes everything; where this process was the reader, the map is folded into its one file.</summary>
    public void Dispose()
    {
        if (_lock is not null)
            Database.Fold();
        Database.Dispose();
        Image.Dispose();
        _lock?.Dispose();
    }

    private static ReadFolder Create(string folder, ReadRecord patient, bool needsSpace, FileStream hold, Func<IImageTarget, IImageTarget> around)
    {
        string image = ImagePath(folder);
        if (File.Exists(image))
            throw new ReadFolderException($"{image} is there without a map: nobody knows what in it is real; move it away or choose another folder");
        long length = patient.Geometry.WholeBytes.Length;
        CheckSpace(folder, length, needsSpace);
        RawImage target = RawImage.Create(image, length);
        return new ReadFolder(folder, ReadDatabase.Create(System.IO.Path.Combine(folder, DatabaseName), patient), around(target), hold);
    }

    private static ReadFolder Resume(string folder, ReadRecord patient, bool needsSpace, FileStream hold, ReadDatabase database, Func<IImageTarget, IImageTarget> around)
    {
        ReadRecord before = database.Record();
        IReadOnlyList<string> differences = before.Differences(patient.Source, patient.Geometry);
        if (differences.Count > 0)
        {
            database.Dispose();
            throw new ReadFolderException($"{folder} holds the read of another patient ({string.Join(", ", differences)}): choose another folder for this one, or attach the right drive");
        }

        long length = patient.Geometry.WholeBytes.Length;
        string image = ImagePath(folder);
        CheckSpace(folder, length - (Media.Linux.FileFacts.Of(image)?.AllocatedBytes ?? 0), needsSpace);
        return new ReadFolder(folder, database, around(RawImage.Open(image, length)), hold);
    }

    private static void MakeFolder(string folder)
    {
        try
        {
            Directory.CreateDirectory(folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new TargetFailure($"the folder {folder} cannot be made: {e.Message}", e);
        }
    }

    private static FileStream Hold(string folder)
    {
        string path = System.IO.Path.Combine(folder, LockName);
        try
        {
            var hold = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            hold.SetLength(0);
            hold.Write(System.Text.Encoding.ASCII.GetBytes(Environment.ProcessId.ToString(CultureInfo.InvariantCulture)));
            hold.Flush();
            return hold;
        }
        catch (UnauthorizedAccessException e)
        {
            throw new TargetFailure($"{folder} may not be written to: {e.Message}", e);
        }
        catch (IOException e)
        {
            throw new ReadFolderException($"another process is reading into {folder} ({e.Message}): one read at a time; stop that one first", e);
        }
    }

    private static void CheckSpace(string folder, long needed, bool needsSpace)
    {
        long free = TargetCheck.FreeBytes(folder);
        if (needsSpace && free < needed)
            throw new TargetFailure($"{folder} has {free} bytes free and the image may need {needed}: make room, or allow a short target when you know that the patient is mostly empty");
    }
}
