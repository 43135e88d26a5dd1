namespace Turnstone.Volumes.HfsPlus;

/// <summary>Which fork of a file, as the extents-overflow file names it.</summary>
internal enum ForkKind : byte
{
    Data = 0,
    Resource = 0xFF,
}

/// <summary>Up to eight further runs of one fork.</summary>
internal sealed record OverflowRecord(uint File, ForkKind Fork, uint FirstBlock, IReadOnlyList<BlockRun> Runs, Standing Standing, Origin Origin);

/// <summary>Runs of forks that have more than eight.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Extents Overflow File" (from memory).</remarks>
internal sealed class ExtentsOverflow
{
    /// <summary>Numbers of the special files, under which their own further runs stand.</summary>
    public const uint CatalogId = 4, AllocationId = 6, AttributesId = 8;

    private const int KeyLength = 10, DataAt = 2 + KeyLength;
    private readonly List<OverflowRecord> _records;

    private ExtentsOverflow(List<OverflowRecord> records, bool isComplete)
    {
        _records = records;
        _records.Sort(Compare);
        IsComplete = isComplete;
    }

    /// <summary>Whether all its records are held.</summary>
    public bool IsComplete { get; }

    public static int LengthOf(ReadOnlySpan<byte> record, bool isLeaf)
    {
        int length = DataAt + (isLeaf ? ForkData.RunsLength : 4);
        return record.Length >= length && record.U16(0) == KeyLength && record[2] is (byte)ForkKind.Data or (byte)ForkKind.Resource ? length : 0;
    }

    public static ExtentsOverflow Read(BTreeFile tree)
    {
        LeafSurvey survey = LeafSurvey.Of(tree);
        var records = new List<OverflowRecord>();
        bool whole = survey.IsComplete;
        foreach (LeafNode leaf in survey.Live.Concat(survey.Stale))
        {
            BTreeNode node = tree.Read(leaf.Number);
            whole &= leaf.Standing == Standing.Stale || (node.IsLeaf && node.IsSound);
            for (int i = 0; node.IsLeaf && i < node.Found; i++)
                records.Add(Parse(node.Record(i), leaf.Standing, node.Origin));
        }

        return new ExtentsOverflow(records, whole);
    }

    /// <summary>Records of one fork in file order, the best standing first where two speak of the same block.</summary>
    public IEnumerable<OverflowRecord> Of(uint file, ForkKind fork)
    {
        var first = new OverflowRecord(file, fork, 0, [], Standing.Reached, Origin.Table);
        int at = _records.BinarySearch(first, Comparer<OverflowRecord>.Create(Compare));
        for (at = at < 0 ? ~at : at; at < _records.Count && _records[at].File == file && _records[at].Fork == fork; at++)
            yield return _records[at];
    }

    private static OverflowRecord Parse(ReadOnlySpan<byte> record, Standing standing, Origin origin) =>
        new(record.U32(4), (ForkKind)record[2], record.U32(8), ForkData.ReadRuns(record.Slice(DataAt, ForkData.RunsLength)), standing, origin);

    private static int Compare(OverflowRecord a, OverflowRecord b) =>
        (a.File, a.Fork, a.FirstBlock, a.Standing).CompareTo((b.File, b.Fork, b.FirstBlock, b.Standing));
}
