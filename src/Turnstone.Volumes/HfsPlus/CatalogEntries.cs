namespace Turnstone.Volumes.HfsPlus;

/// <summary>Second walk over the catalog: its entries, one node's at a time.</summary>
internal sealed class CatalogEntries(VolumeReading reading)
{
    private readonly CatalogSurvey _survey = new(reading.Catalog);
    private readonly HashSet<uint> _given = [];

    public IEnumerable<Entry> All()
    {
        var maker = new EntryMaker(reading, _survey.Folders, _survey.Links);
        var batch = new List<Entry>();
        foreach (LeafNode leaf in _survey.Live)
        {
            AddRecords(reading.Catalog.Read(leaf.Number), leaf, maker, batch);
            foreach (Entry entry in Drain(batch))
                yield return entry;
        }

        foreach (RecordPlace place in _survey.Links.Unused())
        {
            AddUnlinked(place, maker, batch);
            foreach (Entry entry in Drain(batch))
                yield return entry;
        }

        foreach (Entry entry in NamedOnly(maker).Concat(new Leftovers(reading, _survey, _given).All()))
            yield return entry;
    }

    private void AddRecords(BTreeNode node, LeafNode leaf, EntryMaker maker, List<Entry> into)
    {
        for (int i = 0; node.IsLeaf && i < node.Found; i++)
        {
            CatalogRecord record = CatalogRecord.Of(node.Record(i));
            // a number can stand in two nodes that both look alive when one of them is an old state: the surer came first
            if (!record.IsThread && _given.Add(record.Id))
                maker.Add(record, SourceOf(node, leaf), into);
        }
    }

    private void AddUnlinked(RecordPlace place, EntryMaker maker, List<Entry> into)
    {
        BTreeNode node = reading.Catalog.Read(place.Leaf.Number);
        if (node.IsLeaf && place.Index < node.Found && CatalogRecord.Of(node.Record(place.Index)) is { Type: CatalogRecordType.File } record)
            maker.AddUnlinked(record, SourceOf(node, place.Leaf), into);
    }

    /// <summary>Entries whose thread is held and whose record is not; there are none in a catalog without holes.</summary>
    private IEnumerable<Entry> NamedOnly(EntryMaker maker)
    {
        var batch = new List<Entry>();
        foreach (LeafNode leaf in _survey.IsComplete ? [] : _survey.Live)
        {
            BTreeNode node = reading.Catalog.Read(leaf.Number);
            for (int i = 0; node.IsLeaf && i < node.Found; i++)
            {
                CatalogRecord record = CatalogRecord.Of(node.Record(i));
                if (record.IsThread && record.Id != CatalogRecord.Root && !_survey.Links.IsPrivate(record.Id) && _given.Add(record.Id))
                    batch.Add(maker.Named(record, SourceOf(node, leaf)));
            }

            foreach (Entry entry in Drain(batch))
                yield return entry;
        }
    }

    private static RecordSource SourceOf(BTreeNode node, LeafNode leaf)
    {
        Certainty certainty = ForkPlaces.CertaintyOf(leaf.Standing);
        bool fromJournal = node.Origin == Origin.Journal && certainty == Certainty.Sure;
        return new RecordSource(fromJournal ? Certainty.Likely : certainty, leaf.Standing == Standing.Reached ? node.Origin : Origin.Scan);
    }

    private static Entry[] Drain(List<Entry> batch)
    {
        Entry[] entries = [.. batch];
        batch.Clear();
        return entries;
    }
}
