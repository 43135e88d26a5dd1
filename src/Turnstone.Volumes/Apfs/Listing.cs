namespace Turnstone.Volumes.Apfs;

/// <summary>The live entries of one volume, folder by folder, then what no folder led to.</summary>
/// <remarks>
/// Folders tell names; inodes tell sizes, and their own name and parent once more. Where a folder's records are
/// lost the inode's word stands in for them. Remembers a number for each entry and a path for each folder.
/// </remarks>
/// <param name="tree">The volume's records.</param>
/// <param name="blocks">The container.</param>
/// <param name="trust">How far the whole state is to be trusted at most.</param>
internal sealed class Listing(FileTree tree, ContainerBlocks blocks, Trust trust)
{
    public const ulong RootsParent = 1;
    public const ulong RootFolder = 2;
    public const ulong PrivateFolder = 3;

    private readonly FileObjects _objects = new(tree, blocks);
    private readonly Stack<(ulong Id, Trust Trust)> _ahead = new();
    private readonly HashSet<ulong> _listed = [];
    private readonly HashSet<ulong> _siblings = [];
    private readonly HashSet<ulong> _incomplete = [];
    private readonly Dictionary<ulong, FolderPlace> _folders = new()
    {
        [RootFolder] = new FolderPlace(EntryPath.Root, IsGivenUp: false),
        [PrivateFolder] = new FolderPlace(EntryPath.Root["private-dir"], IsGivenUp: true),
    };

    /// <summary>Paths of the folders, once everything was listed.</summary>
    public IReadOnlyDictionary<ulong, FolderPlace> Folders => _folders;

    /// <summary>Whether an inode belongs to the live state.</summary>
    public bool Has(ulong id) => _listed.Contains(id) || _folders.ContainsKey(id);

    public IEnumerable<Entry> Entries()
    {
        foreach (ulong root in (ulong[])[RootFolder, PrivateFolder])
        {
            _ahead.Push((root, trust));
            foreach (Entry entry in Descend())
                yield return entry;
        }

        foreach (FileRecord record in tree.All())
        {
            foreach (Entry entry in Unlisted(record))
                yield return entry;
        }
    }

    private IEnumerable<Entry> Descend()
    {
        while (_ahead.TryPop(out (ulong Id, Trust Trust) folder))
        {
            foreach (FileRecord? record in tree.Walk(folder.Id, RecordType.DirectoryEntry, RecordType.DirectoryEntry))
            {
                if (record is not { } held)
                    _incomplete.Add(folder.Id);
                else if (DirectoryEntry.Read(held, tree.HasHashedNames).OrNone is { } name)
                {
                    foreach (Entry entry in Named(folder.Id, folder.Trust, name))
                        yield return entry;
                }
            }
        }
    }

    /// <summary>What a folder's record names: the entry itself and its streams.</summary>
    private IEnumerable<Entry> Named(ulong folder, Trust reached, DirectoryEntry name)
    {
        FolderPlace place = _folders[folder];
        (FileObject? found, bool hasGap) = _objects.Read(name.FileId);
        bool isNew = _listed.Add(name.FileId);
        if (name.SiblingId is { } sibling)
            _siblings.Add(sibling);
        EntryPath path = place.Path[name.Name];
        Trust known = reached & name.Trust;
        if ((found?.Inode.Kind ?? name.Kind) == EntryKind.Folder)
            Enter(name.FileId, new FolderPlace(path, place.IsGivenUp), known & (found?.Trust ?? default));
        if (found is null)
            return [EntryMaker.WithoutInode(path, name, known, hasGap, place.IsGivenUp)];
        var notes = new List<string>(found.Notes);
        if (found.Inode.Kind != name.Kind)
            notes.Add("the folder's record and the inode disagree about what it is");
        if (found.Inode.Kind == EntryKind.Folder && !isNew)
            notes.Add("a folder that stands in more than one place; what is in it is listed once");
        if (found.Inode.Links <= 1 && found.Inode.Parent != folder)
            notes.Add("the inode names another folder");
        if (notes.Count > found.Notes.Count)
            known = known.AtMost(Certainty.Likely);
        return EntryMaker.All(_objects, found, path, known, place.IsGivenUp, notes);
    }

    private void Enter(ulong id, FolderPlace place, Trust reached)
    {
        if (_folders.TryAdd(id, place))
            _ahead.Push((id, reached));
    }

    /// <summary>What a record tells of that no folder led to: an inode, another name of one, or a folder's content.</summary>
    private IEnumerable<Entry> Unlisted(FileRecord record)
    {
        ulong id = record.Key.Id;
        if (id is RootsParent or RootFolder or PrivateFolder)
            return [];
        return record.Key.Type switch
        {
            RecordType.Inode when !Has(id) => Chain(id),
            RecordType.Sibling => Sibling(record),
            RecordType.DirectoryEntry when !_folders.ContainsKey(id) => Stray(id),
            _ => [],
        };
    }

    /// <summary>An inode and the folders above it, as far up as no path is known, from the top down.</summary>
    private IEnumerable<Entry> Chain(ulong id)
    {
        var chain = new Stack<FileObject>();
        var seen = new HashSet<ulong>();
        ulong at = id;
        while (!Has(at) && seen.Add(at) && _objects.Read(at).Found is { } found)
        {
            chain.Push(found);
            at = found.Inode.Parent;
        }

        foreach (Entry entry in Has(at) ? [] : Stray(at))
            yield return entry;

        while (chain.TryPop(out FileObject? next))
        {
            foreach (Entry entry in Has(next.Inode.Id) ? [] : Orphan(next))
                yield return entry;
        }
    }

    /// <summary>An inode that its folder should list: the folder's record is lost, or was never there.</summary>
    private IEnumerable<Entry> Orphan(FileObject found)
    {
        Inode inode = found.Inode;
        _listed.Add(inode.Id);
        // A parent that is a file has no folder's path; no sound volume has such a one.
        FolderPlace place = _folders.GetValueOrDefault(inode.Parent) ?? new FolderPlace(EntryMaker.LostFolder(inode.Parent), IsGivenUp: false, IsGuess: true);
        bool mayBeListed = _incomplete.Contains(inode.Parent) && inode.Name is not null && !place.IsGuess;
        Trust known = (trust & found.Trust).AtMost(mayBeListed ? Certainty.Likely : Certainty.Guessed);
        EntryPath path = place.Path[inode.Name ?? $"inode {inode.Id}"];
        if (inode.Kind == EntryKind.Folder)
            Enter(inode.Id, place with { Path = path }, known);
        string note = mayBeListed ? "the folder's record is not held; the inode's own name and folder are given" : "no folder lists it";
        foreach (Entry entry in EntryMaker.All(_objects, found, path, known, place.IsGivenUp, [.. found.Notes, note]))
            yield return entry;
        foreach (Entry entry in Descend())
            yield return entry;
    }

    /// <summary>Another name of a file, whose folder's record is lost.</summary>
    private IEnumerable<Entry> Sibling(FileRecord record)
    {
        if (SiblingLink.Read(record).OrNone is not { } link || !_incomplete.Contains(link.Parent) || !_siblings.Add(link.SiblingId)
            || !_folders.TryGetValue(link.Parent, out FolderPlace? place) || _objects.Read(record.Key.Id).Found is not { } found
            || (found.Inode.Parent == link.Parent && found.Inode.Name == link.Name))
            return [];
        Trust known = (trust & found.Trust & link.Trust).AtMost(place.IsGuess ? Certainty.Guessed : Certainty.Likely);
        return EntryMaker.All(_objects, found, place.Path[link.Name], known, place.IsGivenUp, [.. found.Notes, "the folder's record is not held; the file's own list of names is given"]);
    }

    /// <summary>A folder of which nothing but its number is known.</summary>
    private IEnumerable<Entry> Stray(ulong id)
    {
        if (_folders.ContainsKey(id))
            return [];
        Enter(id, new FolderPlace(EntryMaker.LostFolder(id), IsGivenUp: false, IsGuess: true), trust.AtMost(Certainty.Guessed));
        return Descend();
    }
}

/// <summary>Where a folder stands.</summary>
/// <param name="Path">Its path.</param>
/// <param name="IsGivenUp">Whether what is in it was deleted and only waits for its last user.</param>
/// <param name="IsGuess">Whether the path is a stand-in.</param>
internal sealed record FolderPlace(EntryPath Path, bool IsGivenUp, bool IsGuess = false);
