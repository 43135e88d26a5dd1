using System.Globalization;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Where a record stands.</summary>
internal readonly record struct RecordPlace(LeafNode Leaf, int Index);

/// <summary>Files and folders with several names: each name leads by a number to a file in a private folder.</summary>
/// <remarks>
/// File links: Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Hard Links"; the folder's name and the signatures agree
/// with the Linux kernel's hfsplus driver. Folder links: Apple's kernel sources (both from memory).
/// </remarks>
internal sealed class HardLinks
{
    private const string PrivateFolder = "\0\0\0\0HFS+ Private Data", PrivateFolderOfFolders = ".HFS+ Private Directory Data\r";
    private const string FilePrefix = "iNode", FolderPrefix = "dir_";
    private const uint FileLinkType = 0x686C6E6B, FileLinkCreator = 0x6866732B, FolderLinkType = 0x66647270, FolderLinkCreator = 0x4D414353;
    private readonly Dictionary<(uint Parent, uint Number), RecordPlace> _files = [];
    private readonly Dictionary<uint, (uint Parent, string Name, Standing Standing)> _folderLinks = [];
    private readonly HashSet<uint> _used = [];
    private Dictionary<uint, RecordPlace>? _anywhere;
    private uint? _filesAt, _foldersAt;

    public static bool IsFileLink(CatalogRecord record) => record is { FinderType: FileLinkType, FinderCreator: FileLinkCreator };

    public static bool IsFolderLink(CatalogRecord record) => record is { FinderType: FolderLinkType, FinderCreator: FolderLinkCreator };

    /// <summary>Whether this is one of the two folders in which linked files and folders are kept.</summary>
    public bool IsPrivate(uint folder) => folder == _filesAt || folder == _foldersAt;

    /// <summary>Whether a file is kept in the private folder for its links' sake.</summary>
    public bool IsLinked(CatalogRecord record) => record.Parent == _filesAt && _files.ContainsKey((record.Parent, NumberIn(record.Name, FilePrefix) ?? 0));

    /// <summary>Whether a folder is kept in the private folder and a link that names it is known.</summary>
    public bool IsLinkedFolder(CatalogRecord record) => record.Parent == _foldersAt && _folderLinks.ContainsKey(NumberIn(record.Name, FolderPrefix) ?? 0);

    /// <summary>Notes what a folder record says.</summary>
    public void NoteFolder(uint id, uint parent, string name)
    {
        if (parent == CatalogRecord.Root && name == PrivateFolder)
            _filesAt = id;
        if (parent == CatalogRecord.Root && name == PrivateFolderOfFolders)
            _foldersAt = id;
    }

    /// <summary>Notes what a file record says, if it has to do with links.</summary>
    public void NoteFile(CatalogRecord record, RecordPlace place)
    {
        if (NumberIn(record.NameBytes) is { } number)
            _files.TryAdd((record.Parent, number), place);
        if (IsFolderLink(record))
            _folderLinks.TryAdd(record.Special, (record.Parent, record.Name, place.Leaf.Standing));
    }

    /// <summary>Gives each linked folder the place of the first link to it.</summary>
    public void Rename(FolderTree folders)
    {
        foreach ((uint id, uint parent, string name, Standing standing) in folders.Known().Where(f => f.Parent == _foldersAt).ToList())
        {
            if (NumberIn(name, FolderPrefix) is { } number && _folderLinks.TryGetValue(number, out (uint Parent, string Name, Standing Standing) link))
                folders.Rename(id, link.Parent, link.Name, standing > link.Standing ? standing : link.Standing);
        }
    }

    /// <summary>Whether this link is the one under which the folder's entries are listed.</summary>
    public bool IsFirst(CatalogRecord link) =>
        _folderLinks.TryGetValue(link.Special, out (uint Parent, string Name, Standing) first) && first.Parent == link.Parent && first.Name == link.Name;

    /// <summary>The record of the file that a link leads to; null where it is not held.</summary>
    public RecordPlace? Target(uint number)
    {
        _used.Add(number);
        if (_filesAt is { } folder)
            return _files.TryGetValue((folder, number), out RecordPlace place) ? place : null;
        // without the private folder's own record any file of that name will have to do
        _anywhere ??= _files.GroupBy(f => f.Key.Number).ToDictionary(g => g.Key, g => g.First().Value);
        return _anywhere.TryGetValue(number, out RecordPlace found) ? found : null;
    }

    /// <summary>Files in the private folder that no link led to.</summary>
    public IEnumerable<RecordPlace> Unused() => _files.Where(f => f.Key.Parent == _filesAt && !_used.Contains(f.Key.Number)).Select(f => f.Value);

    private static uint? NumberIn(ReadOnlySpan<byte> name)
    {
        // most names are no such name: don't make a string of each
        bool candidate = name.Length > 2 * FilePrefix.Length && name[1] == 'i' && name[3] == 'N' && name[0] == 0;
        return candidate ? NumberIn(name.Text(), FilePrefix) : null;
    }

    private static uint? NumberIn(string name, string prefix) =>
        name.StartsWith(prefix, StringComparison.Ordinal) && uint.TryParse(name.AsSpan(prefix.Length), NumberStyles.None, CultureInfo.InvariantCulture, out uint number) ? number : null;
}
