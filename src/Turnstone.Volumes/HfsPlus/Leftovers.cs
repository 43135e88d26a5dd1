using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>
/// Records of the past: in nodes that the catalog has given up, behind the last record of live nodes, in nodes of which a part is not held,
/// and, where a part of the catalog has no known place, in nodes found anywhere on the volume.
/// </summary>
/// <remarks>A record that is taken out of a node leaves bytes of the former last records behind it; a node that was split keeps the half that moved.</remarks>
internal sealed class Leftovers(VolumeReading reading, CatalogSurvey survey, HashSet<uint> given)
{
    private readonly FolderTree _folders = new(survey.Folders);
    private readonly Dictionary<uint, (byte[] Record, uint Changed)> _newest = [];

    public IEnumerable<Entry> All()
    {
        Collect();
        var maker = new EntryMaker(reading, _folders, survey.Links);
        var made = new List<Entry>();
        foreach ((uint id, (byte[] record, _)) in _newest)
        {
            if (!given.Add(id))
                continue;
            CatalogRecord parsed = CatalogRecord.Of(record);
            maker.Add(parsed, new RecordSource(Certainty.Guessed, Origin.Scan, IsOld: true, IsDeleted: IsGivenUp(parsed)), made);
            foreach (Entry entry in made)
                yield return entry;
            made.Clear();
        }
    }

    /// <summary>A record that is not in the tree was deleted, or stands in a part of the tree that is not held: then free blocks tell.</summary>
    private bool IsGivenUp(CatalogRecord record) => survey.IsComplete
        || (record.Type == CatalogRecordType.File && record.DataFork.Runs.Any(run => reading.Allocation.Of(run) == Usage.Free));

    private void Collect()
    {
        foreach (LeafNode leaf in survey.Live)
        {
            BTreeNode node = reading.Catalog.Read(leaf.Number);
            Carve(node, node is { IsLeaf: true, IsSound: true } ? node.FreeStart : BTreeNode.DescriptorLength);
        }

        foreach (uint number in survey.Stale.Select(l => l.Number).Concat(survey.Headless))
            Carve(reading.Catalog.Read(number), BTreeNode.DescriptorLength);
        foreach (BTreeNode node in reading.Catalog.HasAllNodes ? [] : LooseNodes.In(reading))
            Carve(node, BTreeNode.DescriptorLength);
    }

    /// <summary>Takes every catalog record that stands in a node from a byte on, whether or not the node's table names it.</summary>
    private void Carve(BTreeNode node, int from)
    {
        int end = reading.Catalog.NodeBytes;
        for (int at = from + (from & 1); at < end;)
            at += node.TryRecordAt(at, CatalogRecord.LengthOf, out ReadOnlySpan<byte> record) && IsSensible(CatalogRecord.Of(record)) ? Take(record) : 2;
    }

    private int Take(ReadOnlySpan<byte> bytes)
    {
        CatalogRecord record = CatalogRecord.Of(bytes);
        if (survey.Folders.Knows(record.Id))
            return bytes.Length;
        if (record.Type == CatalogRecordType.FolderThread)
            _folders.Add(record.Id, record.ThreadParent, record.ThreadName, Standing.Stale);
        if (record.Type == CatalogRecordType.Folder)
            _folders.Add(record.Id, record.Parent, record.Name, Standing.Stale);
        if (!record.IsThread && !given.Contains(record.Id) && (!_newest.TryGetValue(record.Id, out (byte[], uint Changed) had) || had.Changed < record.Date(20)))
            _newest[record.Id] = (bytes.ToArray(), record.Date(20));
        return bytes.Length;
    }

    private bool IsSensible(CatalogRecord record)
    {
        bool ids = record.Id >= CatalogRecord.FirstUserId && record.Id < reading.Header.NextId && (record.IsThread ? record.ThreadParent : record.Parent) is >= CatalogRecord.Root and var parent
            && parent < reading.Header.NextId && parent != record.Id;
        return ids && (record.IsThread ? record.ThreadName.Length > 0 && record.NameBytes.IsEmpty : !record.NameBytes.IsEmpty)
            && (record.Type != CatalogRecordType.File || (IsSensible(record.DataFork) && IsSensible(record.ResourceFork)));
    }

    private bool IsSensible(ForkData fork)
    {
        VolumeShape shape = reading.Header.Shape;
        return fork.TotalBlocks <= shape.TotalBlocks && fork.LogicalSize <= (ulong)fork.TotalBlocks * (ulong)shape.BlockBytes && fork.Runs.All(shape.Allows)
            && fork.Runs.Sum(r => (long)r.Count) <= fork.TotalBlocks;
    }
}
