namespace Turnstone.Volumes.Ntfs;

/// <summary>Makes entries of file records: one for each name, and one for each further stream.</summary>
/// <param name="table">The file table.</param>
/// <param name="paths">Where folders stand.</param>
/// <param name="hints">What indexes know of records without a name; asked for only when needed.</param>
/// <param name="contents">Turns streams into content.</param>
internal sealed class EntryMaker(MasterFileTable table, FolderPaths paths, Lazy<NameHints> hints, StreamContent contents)
{
    private readonly FileKind _kinds = new(contents);

    /// <summary>Stand-in for the names of files that nothing tells of.</summary>
    public const string NamelessFolder = "[name not known]";

    /// <summary>Adds the file's entries.</summary>
    public void Make(FileRecord file, List<Entry> into)
    {
        int start = into.Count;
        if (file.Names.Count == 1)
            Add(Named(file, file.Names[0], Certainty.Sure), into);
        else
            AddNames(file, into);
        if (file.Names.Count == 0 && file.IsCutShort)
            AddNameless(file, into);
        if (file.Attributes.Count > 1 && into.Count > start)
            AddStreams(file, into[start], into);
    }

    /// <summary>Adds the entries of a file of which only an index knows.</summary>
    public void MakeHinted(RecordReference file, IReadOnlyList<IndexedName> names, List<Entry> into)
    {
        bool hasLongName = names.Any(name => name.Name.Space != NameSpace.Dos);
        foreach (IndexedName name in names.Where(name => !hasLongName || name.Name.Space != NameSpace.Dos))
            Add(Hinted(file, name), into);
    }

    private static void Add(Entry? entry, List<Entry> into)
    {
        if (entry is not null)
            into.Add(entry);
    }

    private void AddNames(FileRecord file, List<Entry> into)
    {
        foreach (FileName name in file.ShownNames())
            Add(Named(file, name, Certainty.Sure), into);
    }

    private void AddNameless(FileRecord file, List<Entry> into)
    {
        IReadOnlyList<IndexedName> names = hints.Value.Of(file.Header.Reference);
        foreach (IndexedName name in names)
            Add(Named(file, name.Name, name.IsListed ? Certainty.Likely : Certainty.Guessed), into);
        if (names.Count == 0 && file.Attributes.Exists(stream => stream is { Type: AttributeType.Data, Size: > 0 }))
            into.Add(Fill(file, EntryPath.Root[NamelessFolder][$"record {file.Header.Number}"], nameSize: 0, flags: 0, Certainty.Guessed));
    }

    private Entry? Named(FileRecord file, FileName name, Certainty certainty)
    {
        FolderPlace folder = paths.Find(name.Parent);
        if (folder.IsOwn)
            return null;

        // A live file cannot stand in a folder that was given up; a deleted one's path is as good as its folder's.
        if (folder.IsDeleted && file.Header.IsInUse)
            certainty = Certainty.Guessed;
        if (name.Space == NameSpace.Dos || !file.Header.IsInUse)
            certainty = certainty.LessSure(Certainty.Likely);
        return Fill(file, folder.Path[name.Name], name.Size, name.Flags, folder.Certainty.LessSure(certainty));
    }

    private Entry Fill(FileRecord file, EntryPath path, long nameSize, uint flags, Certainty certainty)
    {
        RecordHeader header = file.Header;
        (Origin origin, Certainty place) = table.PlaceOf(header.Number);
        certainty = certainty.LessSure(place).LessSure(file.IsCutShort || file.Trouble is not null ? Certainty.Likely : Certainty.Sure);
        (EntryKind kind, ToldContent told) = _kinds.Of(file, nameSize);
        return new Entry
        {
            Path = path,
            Kind = kind,
            Content = told.Content,
            Deleted = !header.IsInUse,
            Times = file.Info?.Times ?? EntryTimes.None,
            Attributes = StandardInformation.Attributes(file.Info?.Flags ?? flags),
            Origin = origin,
            Certainty = certainty.LessSure(told.Certainty),
            Number = header.Number,
            Notes = Notes(file.Trouble, told.Note),
        };
    }

    private void AddStreams(FileRecord file, Entry first, List<Entry> into)
    {
        bool isPacked = first.Content is UnreadableContent;
        foreach (AttributeFacts stream in file.Attributes)
        {
            if (stream.Type != AttributeType.Data || stream.Name.Length == 0 || (isPacked && stream.Name == ReparsePoint.PackedStream))
                continue;
            ToldContent told = contents.Of(file, stream, nameSize: 0);
            into.Add(first with
            {
                Path = first.Path[stream.Name],
                Kind = EntryKind.Stream,
                Content = told.Content,
                Certainty = first.Certainty.LessSure(told.Certainty),
                Notes = Notes(file.Trouble, told.Note),
            });
        }
    }

    private Entry? Hinted(RecordReference file, IndexedName name)
    {
        FolderPlace folder = paths.Find(name.Name.Parent);
        if (folder.IsOwn)
            return null;
        const string Listed = "its record in the file table is not held or damaged; name, size and times are from its folder's index";
        const string Leftover = "seen only in a part of its folder's index that is no longer used: it may have been deleted or moved";
        string why = name.IsListed ? Listed : Leftover;
        return new Entry
        {
            Path = folder.Path[name.Name.Name],
            Kind = name.Name.IsFolder ? EntryKind.Folder : EntryKind.File,
            Content = name.Name.IsFolder ? null : new UnreadableContent(name.Name.Size, "its record in the file table is not held or damaged"),
            Times = name.Times,
            Attributes = StandardInformation.Attributes(name.Name.Flags),
            Origin = name.IsListed ? Origin.Copy : Origin.Scan,
            Certainty = folder.Certainty.LessSure(name.IsListed ? Certainty.Likely : Certainty.Guessed),
            Number = file.Number,
            Notes = [why],
        };
    }

    private static IReadOnlyList<string> Notes(string? first, string? second) => (first, second) switch
    {
        (null, null) => [],
        (null, _) => [second],
        (_, null) => [first],
        _ => [first, second],
    };
}
