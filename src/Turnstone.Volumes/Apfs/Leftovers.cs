using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Leaves of a file tree that some earlier state had and the live one has not.</summary>
/// <param name="Tree">Their records.</param>
/// <param name="Trust">How far the state is to be trusted.</param>
/// <param name="Note">Which state it is, for a person.</param>
internal sealed record EarlierState(FileTree Tree, Trust Trust, string Note);

/// <summary>Entries that only an earlier state of the volume knows: what was deleted since.</summary>
/// <remarks>
/// Earlier states, best first: snapshots, older checkpoints, loose nodes where the volume had to be searched anyway.
/// The newest state that knows a file tells it. An inode that merely waits in the private folder for its end has
/// lost its name, so an older state is heard first.
/// </remarks>
/// <param name="volume">The volume.</param>
/// <param name="live">Its live records.</param>
/// <param name="listing">What was listed as live.</param>
internal sealed class Leftovers(VolumeState volume, FileTree live, Listing listing)
{
    /// <summary>Blocks whose use is looked up, for all files together; beyond that a file is given without this check.</summary>
    private const long MostChecks = 1 << 26;

    private readonly HashSet<ulong> _told = [];
    private readonly HashSet<ulong> _seenLeaves = [];
    private readonly List<(ulong Id, StateReader State)> _nameless = [];
    private long _checksLeft = MostChecks;

    public IEnumerable<Entry> Entries(IEnumerable<EarlierState> states)
    {
        foreach (EarlierState state in states)
        {
            var reader = new StateReader(state, new FileObjects(state.Tree, volume.Container.Blocks, state.Trust.Certainty == Certainty.Guessed ? Mask : null), []);
            foreach (ulong id in NewInodes(state.Tree))
            {
                foreach (Entry entry in Tell(id, reader, isLastWord: false))
                    yield return entry;
            }
        }

        foreach ((ulong id, StateReader reader) in _nameless)
        {
            foreach (Entry entry in Tell(id, reader, isLastWord: true))
                yield return entry;
        }
    }

    private sealed record StateReader(EarlierState State, FileObjects Objects, Dictionary<ulong, FolderPlace> Folders);

    private IEnumerable<ulong> NewInodes(FileTree tree)
    {
        foreach (TreeStretch stretch in tree.Stretches.Where(s => !s.IsGap && _seenLeaves.Add(s.Leaf)))
        {
            FileLeaf? leaf = tree.Leaf(stretch);
            for (int i = 0; i < leaf?.Count; i++)
            {
                if (leaf.Key(i).Type == RecordType.Inode && !listing.Has(leaf.Key(i).Id))
                    yield return leaf.Key(i).Id;
            }
        }
    }

    private IEnumerable<Entry> Tell(ulong id, StateReader reader, bool isLastWord)
    {
        if (_told.Contains(id) || reader.Objects.Read(id).Found is not { } found)
            return [];
        if (found.Inode.Parent == Listing.PrivateFolder && !isLastWord)
        {
            _nameless.Add((id, reader));
            return [];
        }

        _told.Add(id);
        FolderPlace place = Place(found.Inode.Parent, reader);
        bool mayLive = live.Of(id, RecordType.Inode, RecordType.Inode).HasGap;
        Trust trust = reader.State.Trust.AtMost(place.IsGuess || mayLive ? Certainty.Guessed : Certainty.Sure);
        string note = mayLive ? $"from {reader.State.Note}; whether it still exists is not known" : $"deleted; from {reader.State.Note}";
        return EntryMaker.All(reader.Objects, found, place.Path[found.Inode.Name ?? $"inode {id}"], trust, !mayLive, [.. found.Notes, note]);
    }

    /// <summary>Where a folder stood: the live tree knows, or the earlier one.</summary>
    private FolderPlace Place(ulong folder, StateReader reader)
    {
        var above = new Stack<Inode>();
        var seen = new HashSet<ulong>();
        FolderPlace? place;
        while (!listing.Folders.TryGetValue(folder, out place) && !reader.Folders.TryGetValue(folder, out place))
        {
            FileRecord? record = seen.Add(folder) ? reader.State.Tree.Of(folder, RecordType.Inode, RecordType.Inode).Records.Cast<FileRecord?>().FirstOrDefault() : null;
            if (record is null || Inode.Read(record.Value).OrNone is not { Kind: EntryKind.Folder } inode)
            {
                place = reader.Folders[folder] = new FolderPlace(EntryMaker.LostFolder(folder), IsGivenUp: true, IsGuess: true);
                break;
            }

            above.Push(inode);
            folder = inode.Parent;
        }

        while (above.TryPop(out Inode? inode))
            place = reader.Folders[inode.Id] = place with { Path = place.Path[inode.Name ?? $"inode {inode.Id}"] };
        return place;
    }

    /// <summary>Takes from a deleted file's stretch the blocks that belong to somebody else by now.</summary>
    private IEnumerable<Extent> Mask(Extent stored, ulong address)
    {
        int size = volume.Container.Blocks.BlockBytes;
        long blocks = (stored.Length + size - 1) / size;
        if (blocks > _checksLeft)
            return [stored];
        _checksLeft -= blocks;
        return Pieces(stored, address, blocks, size);
    }

    private IEnumerable<Extent> Pieces(Extent stored, ulong address, long blocks, int size)
    {
        for (long from = 0, end; from < blocks; from = end)
        {
            bool isTaken = IsTaken(address, from);
            for (end = from + 1; end < blocks && IsTaken(address, end) == isTaken;)
                end++;
            long length = Math.Min(end * size, stored.Length) - (from * size);
            yield return isTaken ? Extent.Unknown(length) : Extent.At(stored.Offset + (from * size), length);
        }
    }

    private bool IsTaken(ulong address, long block) => volume.Container.Space.Owned(address + (ulong)block) == Usage.Used;
}
