namespace Turnstone.Volumes.Ntfs;

/// <summary>One listing of a volume, from what is held when it starts.</summary>
internal sealed class NtfsEntries
{
    // Records below the first number are the file system's own; those up to the second are kept free and may never have been written.
    private const long FirstOfUsers = 16, FirstOfFiles = 24;

    private readonly MasterFileTable _table;
    private readonly RecordReader _reader;
    private readonly Lazy<NameHints> _hints;
    private readonly EntryMaker _maker;
    private readonly RecordSet _seen = new();
    private bool _isAnyMissing;

    /// <summary>Prepares a listing.</summary>
    public NtfsEntries(NtfsLayout layout)
    {
        _table = new MftLoader(layout).Load(search: true);
        _reader = new RecordReader(layout, _table);
        _hints = new Lazy<NameHints>(() => NameHints.Read(layout, _table), isThreadSafe: false);
        var paths = new FolderPaths(new RecordReader(layout, _table), _hints);
        _maker = new EntryMaker(_table, paths, _hints, new StreamContent(layout, NtfsVolume.Bitmap(layout, _table)));
        _isAnyMissing = !_table.IsWhole;
    }

    /// <summary>All entries: those of the records first, then those of which only indexes know.</summary>
    public IEnumerable<Entry> All()
    {
        var entries = new List<Entry>();
        foreach (MftBlock block in _table.Blocks())
        {
            for (int i = 0; i < block.Count; i++)
            {
                Take(block, i, entries);
                foreach (Entry entry in entries)
                    yield return entry;
                entries.Clear();
            }
        }

        foreach (Entry entry in _isAnyMissing ? Hinted() : [])
            yield return entry;
    }

    private void Take(MftBlock block, int index, List<Entry> into)
    {
        long number = block.First + index;
        Span<byte> record = block.Record(index);
        if (RecordHeader.Read(record, block.HeldOf(index), number) is not Parsed<RecordHeader>.Value { Item: var header })
        {
            _isAnyMissing |= number >= FirstOfFiles;
            return;
        }

        _seen.Add(number);
        if (!header.IsExtension && number >= FirstOfUsers)
            _maker.Make(_reader.Continue(record, header), into);
    }

    private IEnumerable<Entry> Hinted()
    {
        var entries = new List<Entry>();
        foreach ((RecordReference file, List<IndexedName> names) in _hints.Value.All)
        {
            if (_seen.Contains(file.Number) || file.Number < FirstOfUsers)
                continue;
            _maker.MakeHinted(file, names, entries);
            foreach (Entry entry in entries)
                yield return entry;
            entries.Clear();
        }
    }
}
