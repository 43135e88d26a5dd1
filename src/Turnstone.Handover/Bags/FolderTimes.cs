using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>Remembers the folders' own times and sets them when no file will touch the folders any more.</summary>
internal sealed class FolderTimes
{
    private readonly List<FileFinding> _folders = [];

    /// <summary>Takes note of a folder; anything else is passed over.</summary>
    public void Note(FileFinding finding)
    {
        if (finding.Entry is { Kind: EntryKind.Folder, Times.Modified: not null })
            _folders.Add(finding);
    }

    /// <summary>Sets the times of the folders that are in the bag, on every shelf.</summary>
    public void Set(string bag, PlaceGiver places)
    {
        foreach (FileFinding folder in _folders)
        {
            foreach (string place in places.OfFolder(folder).Select(place => Path.Combine(bag, place)).Where(Directory.Exists))
                Directory.SetLastWriteTimeUtc(place, folder.Entry.Times.Modified!.Value.UtcDateTime);
        }
    }
}
