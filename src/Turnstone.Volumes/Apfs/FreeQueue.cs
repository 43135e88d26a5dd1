using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>Blocks that recent transactions gave up: the bitmap still counts them as used.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, spaceman_free_queue_key_t (from memory).</remarks>
internal sealed class FreeQueue
{
    private readonly List<BlockRun> _runs = [];

    public static FreeQueue Unknown { get; } = new();

    /// <summary>Whether the whole queue could be read.</summary>
    public bool IsComplete { get; private init; }

    /// <summary>The queue, as far as its nodes can be had.</summary>
    /// <param name="blocks">The container.</param>
    /// <param name="places">Where the checkpoint put the queue's nodes.</param>
    /// <param name="root">Identifier of the tree; 0 for an empty queue.</param>
    public static FreeQueue Read(ContainerBlocks blocks, Dictionary<ulong, EphemeralPlace> places, ulong root)
    {
        if (root == 0)
            return new FreeQueue { IsComplete = true };
        var runs = new List<BlockRun>();
        bool complete = true;
        var walk = new TreeWalk(oid => places.TryGetValue(oid, out EphemeralPlace place)
            && blocks.Read(place.Address).OrNone is { } found && found.Header.Oid == oid
            && TreeNode.Read(found, TreeShape.FreeQueue).OrNone is { } node ? new FoundNode(node, default) : null);
        foreach (TreePart part in walk.Parts(root))
        {
            complete &= part.Node is not null;
            for (int i = 0; part.Node is { IsLeaf: true } leaf && i < leaf.Count; i++)
                runs.Add(Run(leaf, i));
        }

        var queue = new FreeQueue { IsComplete = complete };
        queue._runs.AddRange(runs.OrderBy(run => run.Start));
        return queue;
    }

    public bool Holds(ulong address)
    {
        int low = 0, high = _runs.Count;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_runs[middle].Start <= address)
                low = middle + 1;
            else
                high = middle;
        }

        return low > 0 && address - _runs[low - 1].Start < _runs[low - 1].Count;
    }

    private static BlockRun Run(TreeNode leaf, int i)
    {
        ReadOnlySpan<byte> value = leaf.Value(i).Span;
        // A record without a value stands for one block.
        return new BlockRun(BinaryPrimitives.ReadUInt64LittleEndian(leaf.Key(i).Span[8..]), value.Length < 8 ? 1 : BinaryPrimitives.ReadUInt64LittleEndian(value));
    }
}
