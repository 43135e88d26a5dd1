using System.Text;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The attributes file, of which one attribute is of use here: the one that says how a file is compressed.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Attributes File" (from memory).</remarks>
internal sealed class AttributesFile
{
    private const int FileAt = 4, NameLengthAt = 12, NameAt = 14;
    private const int SizeAt = 12, DataAt = 16, ForkAt = 8, MoreRunsAt = 8;
    private const uint Inline = 0x10, Fork = 0x20, MoreRuns = 0x30;
    private static readonly byte[] CompressionName = Encoding.BigEndianUnicode.GetBytes("com.apple.decmpfs");
    private readonly BTreeFile? _tree;
    private readonly Dictionary<uint, (LeafNode Leaf, int Record)> _compression = [];

    public AttributesFile(BTreeFile? tree)
    {
        _tree = tree;
        if (tree is null)
            return;
        LeafSurvey survey = LeafSurvey.Of(tree);
        IsComplete = survey.IsComplete;
        foreach (LeafNode leaf in survey.Live)
            Collect(tree.Read(leaf.Number), leaf);
    }

    /// <summary>Whether all its records are held; true where the volume has no such file.</summary>
    public bool IsComplete { get; private set; } = true;

    public static int LengthOf(ReadOnlySpan<byte> record, bool isLeaf)
    {
        if (record.Length < NameAt)
            return 0;
        int key = record.U16(0), name = record.U16(NameLengthAt);
        if (key != NameAt - 2 + (2 * name) || record.Length < 2 + key + 4)
            return 0;
        int data = isLeaf ? DataLength(record[(2 + key)..]) : 4;
        return data == 0 ? 0 : 2 + key + data;
    }

    /// <summary>The attribute that says how a file is compressed, and how sure it is; null where none is held.</summary>
    public (byte[] Data, Standing Standing)? Compression(uint file)
    {
        if (_tree is null || !_compression.TryGetValue(file, out (LeafNode Leaf, int Record) at))
            return null;
        // read anew because keeping a million of them would cost more than reading them
        BTreeNode node = _tree.Read(at.Leaf.Number);
        if (!node.IsLeaf || at.Record >= node.Found || FileOf(node.Record(at.Record)) != file)
            return null;
        ReadOnlySpan<byte> data = DataOf(node.Record(at.Record));
        return (data.Slice(DataAt, (int)data.U32(SizeAt)).ToArray(), at.Leaf.Standing);
    }

    private void Collect(BTreeNode node, LeafNode leaf)
    {
        IsComplete &= node.IsLeaf && node.IsSound;
        for (int i = 0; node.IsLeaf && i < node.Found; i++)
        {
            ReadOnlySpan<byte> record = node.Record(i);
            if (record.Slice(NameAt, 2 * record.U16(NameLengthAt)).SequenceEqual(CompressionName) && DataOf(record).U32(0) == Inline)
                _compression.TryAdd(FileOf(record), (leaf, i));
        }
    }

    private static uint FileOf(ReadOnlySpan<byte> record) => record.U32(FileAt);

    private static ReadOnlySpan<byte> DataOf(ReadOnlySpan<byte> record) => record[(2 + record.U16(0))..];

    private static int DataLength(ReadOnlySpan<byte> data)
    {
        uint type = data.U32(0);
        if (type == Inline && data.Length >= DataAt && data.U32(SizeAt) <= data.Length - DataAt)
            return DataAt + (int)data.U32(SizeAt);
        if (type == Fork && data.Length >= ForkAt + ForkData.Length)
            return ForkAt + ForkData.Length;
        return type == MoreRuns && data.Length >= MoreRunsAt + ForkData.RunsLength ? MoreRunsAt + ForkData.RunsLength : 0;
    }
}
