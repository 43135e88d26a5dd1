namespace Turnstone.Volumes.Apfs;

/// <summary>What one place of a tree turned out to be.</summary>
/// <param name="Oid">Identifier that the parent gives.</param>
/// <param name="Low">First key that the place may hold, from its parent; empty at the left edge.</param>
/// <param name="Node">The node, or null where it cannot be had.</param>
/// <param name="Trust">How far it is to be trusted.</param>
internal readonly record struct TreePart(ulong Oid, ReadOnlyMemory<byte> Low, TreeNode? Node, Trust Trust);

/// <summary>A node and how far it is to be trusted.</summary>
internal readonly record struct FoundNode(TreeNode Node, Trust Trust);

/// <summary>Walks a tree from its root, in key order, through whatever nodes can be had.</summary>
/// <remarks>No node is entered twice and each lies one level below its parent, so no shape of the links loops.</remarks>
/// <param name="find">The node of an identifier, or null where it cannot be had.</param>
internal sealed class TreeWalk(Func<ulong, FoundNode?> find)
{
    private readonly HashSet<ulong> _entered = [];

    /// <summary>Inner nodes, leaves and gaps; a parent before its children.</summary>
    public IEnumerable<TreePart> Parts(ulong root)
    {
        var ahead = new Stack<(ulong Oid, ReadOnlyMemory<byte> Low, int Level)>();
        ahead.Push((root, default, -1));
        while (ahead.TryPop(out (ulong Oid, ReadOnlyMemory<byte> Low, int Level) next))
        {
            FoundNode? found = _entered.Add(next.Oid) ? find(next.Oid) : null;
            if (found is { } wrong && next.Level >= 0 && wrong.Node.Level != next.Level)
                found = null;
            yield return new TreePart(next.Oid, next.Low, found?.Node, found?.Trust ?? default);
            if (found is not { Node: { IsLeaf: false } inner })
                continue;
            for (int i = inner.Count - 1; i >= 0; i--)
                ahead.Push((inner.Child(i), i == 0 ? next.Low : inner.Key(i), inner.Level - 1));
        }
    }
}
