using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>An object found by looking at every held block, proven by its own checksum.</summary>
internal readonly record struct ScannedObject(ulong Address, ObjectHeader Header);

/// <summary>Looks at every held block once, and again only at what has come since.</summary>
/// <remarks>Safe for several threads. What is held never shrinks, so what was found stays found.</remarks>
internal sealed class NodeScan(ContainerGround ground)
{
    private const int Step = 1 << 20;

    private readonly Lock _turn = new();
    private readonly List<ScannedObject> _found = [];
    private List<ByteRange> _unseen = [new ByteRange(0, ground.Length)];

    /// <summary>File-tree nodes and volume superblocks anywhere in the container.</summary>
    public IReadOnlyList<ScannedObject> Look()
    {
        lock (_turn)
        {
            var unseen = new List<ByteRange>();
            foreach (ByteRange range in _unseen)
                LookAt(range, unseen);
            _unseen = unseen;
            return [.. _found];
        }
    }

    private void LookAt(ByteRange range, List<ByteRange> unseen)
    {
        long at = range.Offset;
        foreach (ByteRange hole in ground.Part.Missing(range))
        {
            ByteRange lost = Whole(hole, range);
            Search(at, lost.Offset);
            if (unseen.Count > 0 && unseen[^1].End >= lost.Offset)
                unseen[^1] = ByteRange.Between(unseen[^1].Offset, Math.Max(unseen[^1].End, lost.End));
            else
                unseen.Add(lost);
            at = Math.Max(at, lost.End);
        }

        Search(at, range.End);
    }

    /// <summary>The hole widened to whole blocks.</summary>
    private ByteRange Whole(ByteRange hole, ByteRange range)
    {
        long size = ground.BlockBytes;
        return ByteRange.Between(hole.Offset / size * size, Math.Min((hole.End + size - 1) / size * size, range.End));
    }

    private void Search(long from, long end)
    {
        var buffer = new byte[Math.Max(0, Math.Min(Step, end - from))];
        for (long at = from; at < end; at += buffer.Length)
        {
            Span<byte> piece = buffer.AsSpan(0, (int)Math.Min(buffer.Length, end - at));
            ground.Part.TryRead(at, piece);
            for (int i = 0; i + ground.BlockBytes <= piece.Length; i += ground.BlockBytes)
                Weigh(piece.Slice(i, ground.BlockBytes), (ulong)((at + i) / ground.BlockBytes));
        }
    }

    private void Weigh(ReadOnlySpan<byte> block, ulong address)
    {
        ObjectHeader header = ObjectHeader.Read(block);
        bool isWanted = header.Kind == ObjectKind.VolumeSuperblock || (header.IsTreeNode && header.TreeOf == ObjectKind.FileTree);
        if (isWanted && ObjectHeader.IsProven(block))
            _found.Add(new ScannedObject(address, header));
    }
}
