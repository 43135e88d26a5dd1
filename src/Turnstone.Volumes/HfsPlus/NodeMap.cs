namespace Turnstone.Volumes.HfsPlus;

/// <summary>Which nodes of a B-tree are in use, as its header node and map nodes say.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Map Record" and "Map Nodes" (from memory).</remarks>
internal sealed class NodeMap
{
    private const int HeaderMapAt = 248, MapRecordAt = BTreeNode.DescriptorLength;
    private readonly List<(BTreeNode? Node, int At, int Bytes)> _parts = [];

    public NodeMap(BTreeFile tree)
    {
        if (tree.Header is null)
            return;
        var seen = new HashSet<uint>();
        uint number = 0;
        // what follows the part that says where the next one is cannot be told when it is not held
        for (long covered = 0; covered < tree.NodeCount && number < tree.NodeCount && seen.Add(number); covered += 8L * _parts[^1].Bytes)
        {
            BTreeNode node = tree.Read(number);
            int at = number == 0 ? HeaderMapAt : MapRecordAt;
            bool isPart = node.HasDescriptor && node.Kind == (number == 0 ? NodeKind.Header : NodeKind.Map);
            // two record offsets after a map node's record, four after the header node's three
            _parts.Add((isPart ? node : null, at, tree.NodeBytes - at - (number == 0 ? 8 : 4)));
            if (!isPart || node.Next == 0)
                return;
            number = node.Next;
        }
    }

    /// <summary>Whether the node is in use.</summary>
    public Usage Of(uint number)
    {
        // all parts but the first are of one size
        long first = _parts.Count > 0 ? 8L * _parts[0].Bytes : 0;
        (long part, long bit) = number < first || _parts.Count < 2 ? (0, number) : Math.DivRem(number - first, 8L * _parts[1].Bytes);
        part += number < first ? 0 : 1;
        if (part >= _parts.Count || _parts[(int)part] is not { Node: { } node } found || !node.TrySlice(found.At + (int)(bit / 8), 1, out ReadOnlySpan<byte> held))
            return Usage.Unknown;
        return (held[0] & (0x80 >> (int)(bit % 8))) != 0 ? Usage.Used : Usage.Free;
    }
}
