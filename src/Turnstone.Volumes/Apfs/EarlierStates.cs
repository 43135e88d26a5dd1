namespace Turnstone.Volumes.Apfs;

/// <summary>Finds the earlier states of a volume that its blocks still hold, as far as they differ from the live one.</summary>
/// <param name="volume">The volume.</param>
/// <param name="live">Addresses of the live tree's nodes.</param>
internal sealed class EarlierStates(VolumeState volume, IReadOnlySet<ulong> live)
{
    /// <summary>States of one kind that are looked at, newest first: each costs a walk over what changed.</summary>
    private const int MostStates = 64;

    private const int MostRounds = 16;

    private readonly HashSet<ulong> _seen = [];

    private ContainerBlocks Blocks => volume.Container.Blocks;

    public IEnumerable<EarlierState> All(bool searchToo)
    {
        IEnumerable<EarlierState> states = Snapshots().Concat(Checkpoints());
        return searchToo ? states.Concat(Strays()) : states;
    }

    private IEnumerable<EarlierState> Snapshots()
    {
        ILookup<ulong, Mapping> replaced = volume.Map.Older.ToLookup(m => m.Oid);
        foreach (Snapshot snapshot in volume.Snapshots.Snapshots.OrderByDescending(s => s.Xid).Take(MostStates))
        {
            IEnumerable<Mapping> then = replaced
                .Where(versions => volume.Map.LatestXid(versions.Key) > snapshot.Xid)
                .Select(versions => versions.Where(m => m.Xid <= snapshot.Xid).OrderByDescending(m => m.Xid).FirstOrDefault());
            Trust trust = volume.Trust & new Trust(Origin.Journal, Certainty.Sure);
            yield return State(then.Where(m => m.Address != 0 && !m.IsDeleted), trust, $"snapshot '{snapshot.Name}'");
        }
    }

    private IEnumerable<EarlierState> Checkpoints()
    {
        var known = new HashSet<ulong>();
        foreach (Checkpoint checkpoint in volume.Container.Older.Take(MostStates))
        {
            ObjectMap container = ObjectMap.Read(Blocks, checkpoint.Superblock.ObjectMapAddress, checkpoint.Xid);
            if (!container.TryFind(volume.Oid, out Mapping place) || !known.Add(place.Address)
                || Blocks.Read(place.Address).OrNone is not { } found || found.Header.Oid != volume.Oid || VolumeSuperblock.Read(found).OrNone is not { } superblock)
                continue;
            ObjectMap map = ObjectMap.Read(Blocks, superblock.ObjectMapAddress, checkpoint.Xid, volume.Map.Nodes);
            IEnumerable<Mapping> then = map.Latest.Where(m => !m.IsDeleted && !live.Contains(m.Address));
            yield return State(then, new Trust(Origin.Journal, Certainty.Guessed), $"the state of transaction {checkpoint.Xid}");
        }
    }

    /// <summary>Nodes that no state led to, in rounds of which each takes the newest that don't lie over one another.</summary>
    private IEnumerable<EarlierState> Strays()
    {
        StrayNodes strays = volume.Strays();
        List<LooseLeaf> left = [.. strays.All
            .Where(s => s.Header.Xid <= volume.Container.Current.Xid && !live.Contains(s.Address) && !_seen.Contains(s.Address) && strays.AreOurs(s.Header.Oid, volume.Map))
            .Select(s => Leaf(s.Address)).OfType<FileLeaf>().Select(Loose).OrderByDescending(l => l.Xid)];
        for (int round = 0; round < MostRounds && left.Count > 0; round++)
        {
            var taken = new LeafRow();
            left.RemoveAll(taken.TryAdd);
            yield return new EarlierState(Tree(taken.Leaves), new Trust(Origin.Scan, Certainty.Guessed), "nodes that no table points to");
        }
    }

    private EarlierState State(IEnumerable<Mapping> then, Trust trust, string note)
    {
        var row = new LeafRow();
        foreach (Mapping mapping in then)
        {
            if (Leaf(mapping.Address) is { } leaf && leaf.Header.Oid == mapping.Oid && leaf.Header.Xid == mapping.Xid && row.TryAdd(Loose(leaf)))
                _seen.Add(leaf.Address);
        }

        return new EarlierState(Tree(row.Leaves), trust, note);
    }

    private FileTree Tree(IEnumerable<LooseLeaf> leaves) =>
        new(Blocks, volume.HasHashedNames, leaves.Select(l => new TreeStretch(l.First, l.Address, l.Trust)));

    private FileLeaf? Leaf(ulong address) =>
        Blocks.Read(address).OrNone is { } found && TreeNode.Read(found, TreeShape.Files).OrNone is { } node ? FileLeaf.Of(node, volume.HasHashedNames) : null;

    private static LooseLeaf Loose(FileLeaf leaf) => new(leaf.First, leaf.Last, leaf.Address, leaf.Header.Xid, default);

    /// <summary>Leaves in the order of their keys, none over another.</summary>
    private sealed class LeafRow
    {
        private readonly SortedSet<LooseLeaf> _leaves = new(Comparer<LooseLeaf>.Create((a, b) => a.First.CompareTo(b.First)));

        public IEnumerable<LooseLeaf> Leaves => _leaves;

        public bool TryAdd(LooseLeaf leaf)
        {
            LooseLeaf upTo = leaf with { First = leaf.Last };
            if (_leaves.Count > 0 && _leaves.Min.First <= leaf.Last && _leaves.GetViewBetween(_leaves.Min, upTo).Max.Last >= leaf.First)
                return false;
            return _leaves.Add(leaf);
        }
    }
}
