namespace Turnstone.Volumes.Ntfs;

/// <summary>What the indexes of folders say of files whose own records are not held, or don't hold a name.</summary>
internal sealed class NameHints
{
    private readonly Dictionary<RecordReference, List<IndexedName>> _names = [];

    private NameHints()
    {
    }

    /// <summary>Every file of which only an index knows.</summary>
    public IEnumerable<KeyValuePair<RecordReference, List<IndexedName>>> All => _names;

    /// <summary>Goes through the whole table twice: once for the records that tell a name, once through the indexes for the others.</summary>
    public static NameHints Read(NtfsLayout layout, MasterFileTable table)
    {
        var hints = new NameHints();
        RecordSet named = Named(layout, table);
        var reader = new RecordReader(layout, table, withIndex: true);
        var index = new FolderIndex(layout);
        var names = new List<IndexedName>();
        foreach ((FileRecord folder, _) in Files(table, reader).Where(told => told.File.Header is { IsInUse: true, IsFolder: true, IsExtension: false }))
        {
            names.Clear();
            index.Read(folder, names);
            foreach (IndexedName name in names.Where(name => !named.Contains(name.File.Number)))
                hints.Add(name);
        }

        return hints;
    }

    /// <summary>The names that indexes hold for a file, listed ones before leftovers; none where no index knows it.</summary>
    public IReadOnlyList<IndexedName> Of(RecordReference file) => _names.TryGetValue(file, out List<IndexedName>? names) ? names : [];

    private static RecordSet Named(NtfsLayout layout, MasterFileTable table)
    {
        var named = new RecordSet();
        foreach ((FileRecord file, long number) in Files(table, new RecordReader(layout, table)))
        {
            if (file.Names.Count > 0 || !file.IsCutShort)
                named.Add(number);
        }

        return named;
    }

    private static IEnumerable<(FileRecord File, long Number)> Files(MasterFileTable table, RecordReader reader)
    {
        foreach (MftBlock block in table.Blocks())
        {
            for (int i = 0; i < block.Count; i++)
            {
                if (reader.Read(block.Record(i), block.HeldOf(i), block.First + i).OrNone is { } file)
                    yield return (file, block.First + i);
            }
        }
    }

    // A leftover of a name that is also listed is only the trace of a move inside the index.
    private void Add(IndexedName name)
    {
        if (!_names.TryGetValue(name.File, out List<IndexedName>? names))
            _names[name.File] = names = [];
        int same = names.FindIndex(known => known.Name.Parent == name.Name.Parent && known.Name.Name == name.Name.Name);
        if (same < 0)
            names.Add(name);
        else if (name.IsListed && !names[same].IsListed)
            names[same] = name;
    }
}
