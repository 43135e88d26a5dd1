using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>Gives every entry its place in the bag: safe names, no two alike on any system, one folder for one folder.</summary>
/// <remarks>
/// The same entries in the same order get the same names. Twins get ' (2)', ' (3)' and so on, never '~2': that is how
/// FAT and NTFS name their short aliases. A folder that lies too deep restarts below 'long paths' in its volume.
/// Memory follows folders, and some tens of bytes for each file.
/// </remarks>
internal sealed class DeliveredNames(NameLimits limits)
{
    private const string DeepFolder = "long paths";

    // 'data/deleted-doubtful/' is the longest that comes before a place; ' (1000000)' the longest that tells twins apart.
    // A file in the deepest folder keeps room for a name of some use.
    private const int PrefixUnits = 22, TwinRoom = 12, FileRoom = 60;

    private readonly int _fileUnits = limits.PathUnits - PrefixUnits, _folderUnits = limits.PathUnits - PrefixUnits - FileRoom;

    private readonly Folder _top = new("");
    private readonly HashSet<UInt128> _taken = [];
    private readonly Dictionary<UInt128, int> _twins = [];
    private (EntryPath? Path, string Volume, Folder? Folder) _last;

    /// <summary>Place of a folder: safe names joined with '/', the volume's first.</summary>
    public string OfFolder(string volume, EntryPath path) => Find(volume, path).Place;

    /// <summary>Place of a file; asked once for each file, as every call takes a new name.</summary>
    /// <param name="volume">Name of the volume.</param>
    /// <param name="folder">The folder that it stands in.</param>
    /// <param name="name">Its name as on the disk.</param>
    /// <param name="ending">Put after the name, for a note beside a file.</param>
    public string OfFile(string volume, EntryPath folder, string name, string ending = "") =>
        Take(Find(volume, folder), name, ending, _fileUnits);

    private Folder Find(string volume, EntryPath path)
    {
        if (ReferenceEquals(_last.Path, path) && _last.Volume == volume)
            return _last.Folder!;
        Folder root = _top.Child(volume, () => Take(_top, volume, "", _folderUnits)), at = root;
        foreach (string name in path.Names)
            at = at.Child(name, () => TakeFolder(root, at, name));
        _last = (path, volume, at);
        return at;
    }

    private string TakeFolder(Folder root, Folder parent, string name)
    {
        string safe = SafeName.Of(name, limits.NameUnits, limits.NameBytes);
        if (parent.Place.Length + 1 + safe.Length + TwinRoom <= _folderUnits)
            return Take(parent, name, "", _folderUnits);
        Folder deep = root.Deep ??= new Folder(Take(root, DeepFolder, "", _folderUnits));
        return Take(deep, name, "", _folderUnits);
    }

    private string Take(Folder folder, string name, string ending, int placeUnits)
    {
        string start = folder.Place.Length == 0 ? "" : folder.Place + "/";
        int units = Math.Min(limits.NameUnits, placeUnits - start.Length);
        UInt128 plain = KeyIn(folder, SafeName.Of(name, units, limits.NameBytes, "", ending));
        int next = _twins.GetValueOrDefault(plain, 1);
        while (true)
        {
            string safe = SafeName.Of(name, units, limits.NameBytes, next == 1 ? "" : $" ({next})", ending);
            next++;
            // A meeting of two short keys costs a needless ' (2)', never a lost file.
            if (!_taken.Add(KeyIn(folder, safe)))
                continue;
            if (next > 2)
                _twins[plain] = next;
            return start + safe;
        }
    }

    private static UInt128 KeyIn(Folder folder, string safe) => NameFold.Short($"{folder.Key}/{NameFold.Key(safe)}");

    private sealed class Folder(string place)
    {
        private Dictionary<string, Folder>? _children;

        public string Place => place;

        public string Key { get; } = NameFold.Key(place);

        public Folder? Deep { get; set; }

        public Folder Child(string name, Func<string> take)
        {
            _children ??= new(StringComparer.Ordinal);
            if (!_children.TryGetValue(name, out Folder? child))
                _children[name] = child = new Folder(take());
            return child;
        }
    }
}
