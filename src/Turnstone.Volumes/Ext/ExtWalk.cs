namespace Turnstone.Volumes.Ext;

/// <summary>Walks down from a folder and lists what its names lead to, batch by batch.</summary>
internal sealed class ExtWalk
{
    /// <summary>Bytes of folder blocks taken together: their names are sorted by inode, so the tables are read in order.</summary>
    private const int BatchBytes = 1 << 20;

    private readonly ExtLook _look;
    private readonly ExtDirectoryBlock _reader;
    private readonly ExtEntries _entries;
    private readonly Stack<Folder> _pending = new();
    private readonly SparseBits _entered = new();
    private readonly List<Named> _batch = [];
    private readonly List<DirectoryName> _names = [];

    public ExtWalk(ExtLook look, ExtEntries entries)
    {
        _look = look;
        _entries = entries;
        _reader = new ExtDirectoryBlock(look.Super);
    }

    /// <summary>Folders of which not all names are held, with their paths: an inode without a name may belong there.</summary>
    public Dictionary<uint, EntryPath> Incomplete { get; } = [];

    /// <summary>Whether a folder was walked.</summary>
    public bool HasEntered(uint inode) => _entered.Contains(inode);

    /// <summary>All entries below a folder, the folder itself not among them. The list is the same each time, refilled.</summary>
    public IEnumerable<List<Entry>> Below(Folder folder)
    {
        _pending.Push(folder);
        var listed = new List<Entry>();
        while (_pending.TryPop(out Folder next))
        {
            if (next.DeletedBefore is null && !_entered.Add(next.Inode.Number))
                continue;
            var blocks = new FolderBlocks(_look, next);
            var stale = new StaleNames(_look, _reader, next);
            int bytes = 0;
            foreach (NameBlock block in next.DeletedBefore is null ? blocks.Read() : [])
            {
                Take(block, next with { Trust = next.Trust.And(blocks.Trust) }, stale);
                if ((bytes += block.Bytes.Data.Length) < BatchBytes)
                    continue;
                List(next, listed);
                yield return listed;
                listed.Clear();
                bytes = 0;
            }

            List(next, listed);
            foreach (StaleName name in stale.Find(blocks))
                Remember(_entries.Removed(name, next), listed);
            yield return listed;
            listed.Clear();
            if (!blocks.IsWhole)
                Incomplete.TryAdd(next.Inode.Number, next.Path);
        }
    }

    /// <summary>Puts the names of a block into the batch.</summary>
    private void Take(NameBlock block, Folder folder, StaleNames stale)
    {
        _names.Clear();
        bool unbroken = _reader.Read(block.Bytes, block.Start, _names, passedOver: true);
        Trust trust = folder.Trust.And(block.Trust).And(OfBlock(block, folder, unbroken));
        foreach (DirectoryName name in _names)
        {
            ReadOnlySpan<byte> text = block.Bytes.Data.AsSpan(name.NameAt, name.NameLength);
            if (text.SequenceEqual("."u8) || text.SequenceEqual(".."u8))
                continue;
            if (name.Standing == NameStanding.PassedOver)
            {
                stale.AddBlock(block);
                continue;
            }

            stale.AddLive(text);
            _batch.Add(new Named(name, block.Bytes, name.Standing == NameStanding.Resumed ? trust.And(Trust.Weak) : trust));
        }
    }

    /// <summary>How far one block's own signs confirm that it is a whole block of this folder.</summary>
    private Trust OfBlock(NameBlock block, Folder folder, bool unbroken)
    {
        if (block.Block is null)
            return unbroken ? Trust.Full : Trust.Weak;
        if (block.IsFirst && block.Bytes.Holds(0, 24))
        {
            (uint self, uint parent) = ExtDirectoryBlock.Dots(block.Bytes);
            if (self != folder.Inode.Number || (folder.Parent != 0 && parent != folder.Parent))
                return Trust.Weak;
        }

        return _reader.SumFits(block.Bytes, folder.Inode.Seed(_look.Super)) switch
        {
            true => Trust.Full,
            false => Trust.Weak,
            null when !_look.Super.HasMetadataSums => unbroken || !block.Bytes.IsWhole ? Trust.Full : Trust.Unconfirmed,
            null => block.Bytes.IsWhole ? Trust.Weak : Trust.Unconfirmed,
        };
    }

    /// <summary>Turns the batch into entries, in the order of the inode tables.</summary>
    private void List(Folder folder, List<Entry> listed)
    {
        _batch.Sort(static (a, b) => a.Name.Inode.CompareTo(b.Name.Inode));
        foreach (Named named in _batch)
        {
            ReadOnlySpan<byte> text = named.Block.Data.AsSpan(named.Name.NameAt, named.Name.NameLength);
            Remember(_entries.Live(folder.Path[ExtNames.Show(text)], named.Name, named.Trust, folder.Inode.Number), listed);
        }

        _batch.Clear();
    }

    private void Remember((Entry? Entry, Folder? Folder) found, List<Entry> listed)
    {
        if (found.Entry is not null)
            listed.Add(found.Entry);
        if (found.Folder is { } folder)
            _pending.Push(folder);
    }

    private readonly record struct Named(DirectoryName Name, HeldBytes Block, Trust Trust);
}
