namespace Turnstone.Volumes.HfsPlus;

/// <summary>Where a folder stands and how sure that is.</summary>
internal readonly record struct FolderPlace(EntryPath Path, int Depth, Certainty Certainty, bool IsFound);

/// <summary>Paths of folders by their numbers, from whatever records and threads are held.</summary>
/// <param name="living">Where to look for folders that are not in this tree; null for none.</param>
internal sealed class FolderTree(FolderTree? living = null)
{
    // Deeper than any system lets a client go; without an end a bent catalog could make paths without one.
    private const int DepthMax = 1000;
    private readonly Dictionary<uint, Row> _rows = [];
    private readonly Dictionary<uint, FolderPlace> _places = new() { [CatalogRecord.Root] = new FolderPlace(EntryPath.Root, 0, Certainty.Sure, true) };

    /// <summary>Notes what a record or a thread says; of two, the better standing stays.</summary>
    public void Add(uint id, uint parent, string name, Standing standing)
    {
        if (id != CatalogRecord.Root && (!_rows.TryGetValue(id, out Row had) || standing < had.Standing))
            _rows[id] = new Row(parent, name, standing);
    }

    /// <summary>Lets another folder's name lead to it: what a hard link to a folder does.</summary>
    public void Rename(uint id, uint parent, string name, Standing standing) => _rows[id] = new Row(parent, name, standing);

    public bool Knows(uint id) => _rows.ContainsKey(id) || id == CatalogRecord.Root;

    /// <summary>Folders known by their number alone.</summary>
    public IEnumerable<(uint Id, uint Parent, string Name, Standing Standing)> Known() =>
        _rows.Select(r => (r.Key, r.Value.Parent, r.Value.Name, r.Value.Standing));

    /// <summary>Where the folder with this number stands; a stand-in place where its way to the root is not known.</summary>
    public FolderPlace Of(uint id)
    {
        var climb = new List<uint>();
        var onTheWay = new HashSet<uint>();
        uint at = id;
        while (!_places.ContainsKey(at) && _rows.TryGetValue(at, out Row row) && onTheWay.Add(at))
        {
            climb.Add(at);
            at = row.Parent;
        }

        FolderPlace place = _places.TryGetValue(at, out FolderPlace known) ? known : TopOf(at);
        for (int i = climb.Count - 1; i >= 0; i--)
            _places[climb[i]] = place = Below(place, climb[i]);
        return place;
    }

    private FolderPlace TopOf(uint id) => living is not null && living.Knows(id) ? living.Of(id) : Lost(id);

    private FolderPlace Below(FolderPlace parent, uint id)
    {
        Row row = _rows[id];
        if (parent.Depth >= DepthMax)
            return Lost(id);
        Certainty own = ForkPlaces.CertaintyOf(row.Standing);
        return new FolderPlace(parent.Path[row.Name], parent.Depth + 1, own > parent.Certainty ? own : parent.Certainty, parent.IsFound);
    }

    private static FolderPlace Lost(uint id) => new(EntryPath.Root["lost+found"][$"folder {id}"], 2, Certainty.Guessed, false);

    private readonly record struct Row(uint Parent, string Name, Standing Standing);
}
