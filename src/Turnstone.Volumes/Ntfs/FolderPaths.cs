namespace Turnstone.Volumes.Ntfs;

/// <summary>Where a folder stands.</summary>
/// <param name="Path">Its path; below a stand-in where its own folder is not known.</param>
/// <param name="Certainty">How sure that is.</param>
/// <param name="IsDeleted">Whether the folder, or one above it, has been given up.</param>
/// <param name="IsOwn">Whether it belongs to the file system itself ($Extend).</param>
/// <param name="Depth">Folders between it and the root.</param>
internal sealed record FolderPlace(EntryPath Path, Certainty Certainty, bool IsDeleted, bool IsOwn, int Depth);

/// <summary>Rebuilds paths from the references that records keep to their folders; sequence numbers must fit.</summary>
/// <param name="reader">Reads records.</param>
/// <param name="hints">What indexes know of folders whose records are not held; asked for only when needed.</param>
internal sealed class FolderPaths(RecordReader reader, Lazy<NameHints> hints)
{
    /// <summary>Number of the root folder's record.</summary>
    public const long RootNumber = 5;

    /// <summary>Number of the record of the folder $Extend.</summary>
    public const long ExtendNumber = 11;

    /// <summary>Stand-in for folders that nothing tells of.</summary>
    public const string Unknown = "[folder not known]";

    // A path has at most 32,767 characters, so real trees end far above; loops end here.
    private const int DepthMax = 4096;

    // Bounds memory: a million folders would take about 150 MB. Past that the cache starts anew.
    private const int CacheMax = 400_000;

    private static readonly FolderPlace Root = new(EntryPath.Root, Certainty.Sure, IsDeleted: false, IsOwn: false, Depth: 0);

    private readonly Dictionary<RecordReference, FolderPlace> _known = [];
    private readonly List<(RecordReference Reference, FileName Name, Certainty Certainty, bool IsDeleted)> _way = [];
    private readonly HashSet<RecordReference> _onWay = [];

    /// <summary>The place of a folder; a stand-in where it is not known.</summary>
    public FolderPlace Find(RecordReference folder)
    {
        if (_known.TryGetValue(folder, out FolderPlace? place))
            return place;
        if (_known.Count > CacheMax)
            _known.Clear();
        _way.Clear();
        _onWay.Clear();
        place = Climb(folder);
        for (int i = _way.Count - 1; i >= 0; i--)
        {
            (RecordReference reference, FileName name, Certainty certainty, bool isDeleted) = _way[i];
            place = Below(place, name.Name, certainty, isDeleted, reference.Number == ExtendNumber);
            _known[reference] = place;
        }

        return place;
    }

    private static FolderPlace Below(FolderPlace parent, string name, Certainty certainty, bool isDeleted, bool isOwn)
    {
        // A live folder cannot stand in one that was given up: one of the two records is not what it seems.
        if (parent.IsDeleted && !isDeleted)
            certainty = Certainty.Guessed;
        return new FolderPlace(parent.Path[name], parent.Certainty.LessSure(certainty), parent.IsDeleted || isDeleted, parent.IsOwn || isOwn, parent.Depth + 1);
    }

    // Goes up until a known folder, and leaves the way there in _way.
    private FolderPlace Climb(RecordReference at)
    {
        while (true)
        {
            if (at is { Number: RootNumber, Sequence: (ushort)RootNumber })
                return Root;
            if (_known.TryGetValue(at, out FolderPlace? known) && known.Depth + _way.Count < DepthMax)
                return known;
            if (_way.Count >= DepthMax || !_onWay.Add(at) || !TryStep(at, out RecordReference parent))
                return StandIn(at);
            at = parent;
        }
    }

    private FolderPlace StandIn(RecordReference folder)
    {
        var place = new FolderPlace(EntryPath.Root[Unknown][$"[folder {folder.Number}-{folder.Sequence}]"], Certainty.Guessed, IsDeleted: false, IsOwn: false, Depth: 2);
        _known.TryAdd(folder, place);
        return place;
    }

    private bool TryStep(RecordReference folder, out RecordReference parent)
    {
        parent = default;
        FileRecord? record = reader.Read(folder.Number).OrNone;
        bool isAlive = record is { Header: { IsInUse: true, IsFolder: true } } && record.Header.Sequence == folder.Sequence;
        bool isGivenUp = record is { Header: { IsInUse: false, IsFolder: true } } && record.Header.Sequence == folder.AfterDeletion;
        if (record is not null && !isAlive && !isGivenUp)
            return false;
        if (record?.ShownNames().FirstOrDefault() is { } name)
        {
            _way.Add((folder, name, name.Space == NameSpace.Dos || record.Trouble is not null ? Certainty.Likely : Certainty.Sure, isGivenUp));
            parent = name.Parent;
            return true;
        }

        return TryHint(folder, out parent);
    }

    private bool TryHint(RecordReference folder, out RecordReference parent)
    {
        IndexedName hint = hints.Value.Of(folder).FirstOrDefault(name => name.Name.IsFolder);
        parent = hint.Name?.Parent ?? default;
        if (hint.Name is null)
            return false;
        _way.Add((folder, hint.Name, hint.IsListed ? Certainty.Likely : Certainty.Guessed, false));
        return true;
    }
}
