using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>A state of a volume that was kept on purpose.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Xid">Last transaction that belongs to it.</param>
internal sealed record Snapshot(string Name, ulong Xid);

/// <summary>The snapshots of one volume.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, j_snap_metadata_val_t (from memory).</remarks>
internal sealed record SnapshotList(IReadOnlyList<Snapshot> Snapshots, bool IsComplete, IReadOnlyList<ulong> Nodes)
{
    private const int RecordType = 1;
    private const int TypeShift = 60;
    private const int NameLength = 48;
    private const int Name = 50;

    public static SnapshotList None { get; } = new([], true, []);

    /// <summary>Transaction of the newest one; 0 where there is none, the largest number where that is not known.</summary>
    public ulong NewestXid => !IsComplete ? ulong.MaxValue : Snapshots.Count == 0 ? 0 : Snapshots.Max(s => s.Xid);

    public static SnapshotList Read(ContainerBlocks blocks, VolumeSuperblock volume)
    {
        if (volume.SnapshotTreeAddress == 0)
            return None;
        var snapshots = new List<Snapshot>();
        var nodes = new List<ulong>();
        bool complete = true;
        var walk = new TreeWalk(address => blocks.Read(address).OrNone is { } found && found.Header.Oid == address
            && TreeNode.Read(found, TreeShape.Snapshots).OrNone is { } node ? new FoundNode(node, default) : null);
        foreach (TreePart part in walk.Parts(volume.SnapshotTreeAddress))
        {
            nodes.Add(part.Oid);
            complete &= part.Node is not null;
            for (int i = 0; part.Node is { IsLeaf: true } leaf && i < leaf.Count; i++)
            {
                if (Entry(leaf.Key(i).Span, leaf.Value(i).Span) is { } snapshot)
                    snapshots.Add(snapshot);
            }
        }

        return new SnapshotList(snapshots, complete, nodes);
    }

    private static Snapshot? Entry(ReadOnlySpan<byte> key, ReadOnlySpan<byte> value)
    {
        if (key.Length < 8 || value.Length < Name)
            return null;
        ulong head = BinaryPrimitives.ReadUInt64LittleEndian(key);
        int length = BinaryPrimitives.ReadUInt16LittleEndian(value[NameLength..]);
        return head >> TypeShift == RecordType && length <= value.Length - Name
            ? new Snapshot(ApfsText.Read(value.Slice(Name, length)), head & ((1UL << TypeShift) - 1))
            : null;
    }
}
