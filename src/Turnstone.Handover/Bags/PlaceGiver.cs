using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>Gives each finding its place in the bag, in the order in which they come.</summary>
internal sealed class PlaceGiver(NameLimits limits)
{
    /// <summary>Ending of the note that lies beside a holed file.</summary>
    public const string NoteEnding = ".missing.txt";

    /// <summary>Ending of the note that stands for a symbolic link.</summary>
    public const string LinkEnding = ".link.txt";

    // Live files of every grade share one tree, so a folder has the same name on each shelf.
    private readonly DeliveredNames _live = new(limits), _deleted = new(limits);

    /// <summary>The finding's place.</summary>
    public Placed Of(FileFinding finding)
    {
        if (Shelf.Of(finding) is not { } shelf)
            return new Placed(finding, null, null);
        DeliveredNames names = finding.Entry.Deleted ? _deleted : _live;
        (EntryPath folder, string name) = FolderAndName(finding.Entry);
        string start = $"data/{shelf}/";
        string ending = finding.Entry.Kind == EntryKind.Link ? LinkEnding : "";
        string path = start + names.OfFile(finding.Volume, folder, name, ending);
        string? note = finding.Grade == Grade.Holed ? start + names.OfFile(finding.Volume, folder, name, ending + NoteEnding) : null;
        return new Placed(finding, path, note);
    }

    /// <summary>Where a folder may lie: one place for each shelf of live or of deleted files.</summary>
    public IEnumerable<string> OfFolder(FileFinding folder)
    {
        bool deleted = folder.Entry.Deleted;
        string place = (deleted ? _deleted : _live).OfFolder(folder.Volume, folder.Entry.Path);
        return Shelf.All(deleted).Select(shelf => $"data/{shelf}/{place}");
    }

    // A stream's path goes through its file, and a file cannot be a folder: the stream lies beside it.
    private static (EntryPath Folder, string Name) FolderAndName(Entry entry)
    {
        EntryPath parent = entry.Path.Parent ?? EntryPath.Root;
        return entry.Kind == EntryKind.Stream && parent.Parent is { } folder
            ? (folder, $"{parent.Name} (stream {entry.Path.Name})")
            : (parent, entry.Path.Name);
    }
}
