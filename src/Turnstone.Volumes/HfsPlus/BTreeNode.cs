namespace Turnstone.Volumes.HfsPlus;

/// <summary>What a B-tree node is for.</summary>
internal enum NodeKind : sbyte
{
    Leaf = -1,
    Index = 0,
    Header = 1,
    Map = 2,
}

/// <summary>Bytes that a record of a leaf or index node must have at least, told from its first bytes; 0 where these are no record.</summary>
internal delegate int RecordLength(ReadOnlySpan<byte> record, bool isLeaf);

/// <summary>One node of a B-tree, as far as it is held.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "B-Trees" (from memory).</remarks>
internal sealed class BTreeNode
{
    public const int DescriptorLength = 14;

    private const int NextAt = 0, PreviousAt = 4, KindAt = 8, HeightAt = 9, CountAt = 10;
    private readonly byte[] _bytes;
    private readonly Held _held;
    private readonly List<(int Start, int End)> _records = [];

    public BTreeNode(uint number, byte[] bytes, Held held, RecordLength lengthOf)
    {
        (Number, _bytes, _held) = (number, bytes, held);
        FreeStart = bytes.Length;
        ReadOnlySpan<byte> span = bytes;
        HasDescriptor = held.Has(0, DescriptorLength) && (sbyte)bytes[KindAt] is >= -1 and <= 2;
        if (!HasDescriptor)
            return;
        (Next, Previous) = (span.U32(NextAt), span.U32(PreviousAt));
        (Kind, Height, Count) = ((NodeKind)bytes[KindAt], bytes[HeightAt], span.U16(CountAt));
        if (held.Has(TableStart, bytes.Length - TableStart))
            FindByTable(lengthOf);
        else
            FindInSequence(lengthOf);
    }

    public uint Number { get; }

    public Origin Origin => _held.Origin;

    /// <summary>Whether the node's first bytes are held and can be those of a node; without them nothing else is set.</summary>
    public bool HasDescriptor { get; }

    public NodeKind Kind { get; }

    public int Height { get; }

    public uint Next { get; }

    public uint Previous { get; }

    public int Count { get; }

    /// <summary>Records that are held and well placed.</summary>
    public int Found => _records.Count;

    /// <summary>Whether all records that the node speaks of are among them.</summary>
    public bool IsSound => HasDescriptor && Found == Count;

    /// <summary>Where the space behind the last record begins; the node's end where that is not known.</summary>
    public int FreeStart { get; private set; }

    /// <summary>Where that space ends: the table of record offsets follows.</summary>
    public int TableStart => Math.Max(DescriptorLength, _bytes.Length - (2 * (Count + 1)));

    public bool IsLeaf => HasDescriptor && Kind == NodeKind.Leaf && Height == 1;

    public bool IsIndex => HasDescriptor && Kind == NodeKind.Index && Height > 1;

    public ReadOnlySpan<byte> Record(int i) => _bytes.AsSpan(_records[i].Start.._records[i].End);

    /// <summary>Where a record starts in the node.</summary>
    public int StartOf(int i) => _records[i].Start;

    /// <summary>Bytes of the node up to a limit, and whether they are all held.</summary>
    public bool TrySlice(int start, int length, out ReadOnlySpan<byte> bytes)
    {
        bool fits = start >= 0 && length >= 0 && start <= _bytes.Length - length;
        bytes = fits ? _bytes.AsSpan(start, length) : [];
        return fits && _held.Has(start, length);
    }

    /// <summary>A record that stands at this byte, all of it held, whether or not the node names it.</summary>
    public bool TryRecordAt(int start, RecordLength lengthOf, out ReadOnlySpan<byte> record)
    {
        record = [];
        int length = start < _bytes.Length ? lengthOf(_bytes.AsSpan(start), isLeaf: true) : 0;
        return length > 0 && TrySlice(start, length, out record);
    }

    private void FindByTable(RecordLength lengthOf)
    {
        ReadOnlySpan<byte> span = _bytes;
        int last = DescriptorLength;
        for (int i = 0; i < Count && 2 * (i + 2) <= _bytes.Length; i++)
        {
            int start = span.U16(_bytes.Length - (2 * (i + 1))), end = span.U16(_bytes.Length - (2 * (i + 2)));
            // records may not lie over each other: a node then costs no more than its bytes
            if (start < last || end <= start || end > TableStart)
                continue;
            last = end;
            if (_held.Has(start, end - start) && Fits(span[start..end], lengthOf))
                _records.Add((start, end));
        }

        int free = span.U16(_bytes.Length - (2 * Math.Min(Count + 1, _bytes.Length / 2)));
        FreeStart = free >= last && free <= TableStart ? free : _bytes.Length;
    }

    /// <summary>Without the table of offsets, each record's own lengths lead to the next.</summary>
    private void FindInSequence(RecordLength lengthOf)
    {
        int at = DescriptorLength;
        while (_records.Count < Count && IsTree)
        {
            int length = lengthOf(_bytes.AsSpan(at), Kind == NodeKind.Leaf);
            length += length & 1;
            if (length == 0 || at + length > TableStart || !_held.Has(at, length))
                return;
            _records.Add((at, at + length));
            at += length;
        }

        FreeStart = at;
    }

    private bool IsTree => Kind is NodeKind.Leaf or NodeKind.Index;

    private bool Fits(ReadOnlySpan<byte> record, RecordLength lengthOf)
    {
        int length = IsTree ? lengthOf(record, Kind == NodeKind.Leaf) : 1;
        return length > 0 && length <= record.Length;
    }
}
