namespace Turnstone.Volumes.Ext;

/// <summary>Makes entries from names and inodes, and keeps count of what has been listed.</summary>
internal sealed class ExtEntries(ExtLook look)
{
    private readonly ExtContents _contents = new(look);
    private readonly SparseBits _folders = new(), _removedFolders = new();

    /// <summary>Inodes that an entry was made of.</summary>
    public SparseBits Listed { get; } = new();

    /// <summary>The entry of a name that is there, and the folder behind it if it is one.</summary>
    public (Entry? Entry, Folder? Folder) Live(EntryPath path, DirectoryName name, Trust trust, uint parent)
    {
        InodeRead read = look.Inodes.Read(name.Inode);
        if (!read.IsHeld)
            return (Bare(path, name, trust.And(Trust.Unconfirmed), "its inode is not held: neither its size nor the place of its bytes is known"), null);
        if (!read.Inode.IsLive)
            return (Bare(path, name, trust.And(read.Trust).And(Trust.Weak), "its name is there, but its inode is not in use"), null);
        trust = trust.And(read.Trust).And(look.Trust);
        string? contradiction = name.Kind is { } kind && kind != read.Inode.Kind ? "its folder says that it is another kind of thing" : null;
        if (read.Inode.Kind == EntryKind.Folder && !_folders.Add(name.Inode))
            contradiction = "another folder has it too";
        if (contradiction is not null)
            trust = trust.And(Trust.Weak);
        Listed.Add(name.Inode);
        Folder? folder = read.Inode.Kind == EntryKind.Folder && contradiction is null ? new Folder(read.Inode, path, trust, parent, null) : null;
        return (Of(path, read.Inode, _contents.Of(read.Inode), trust, [contradiction, read.Note]), folder);
    }

    /// <summary>The entry of something that is there but has no name that is held.</summary>
    public Entry Nameless(EntryPath path, InodeRead read)
    {
        Listed.Add(read.Inode.Number);
        if (read.Inode.Kind == EntryKind.Folder)
            _folders.Add(read.Inode.Number);
        return Of(path, read.Inode, _contents.Of(read.Inode), read.Trust.And(look.Trust).And(Trust.Weak), ["its name is not held", read.Note]);
    }

    /// <summary>The entry of a name that was removed; none where the name only moved on with its file.</summary>
    public (Entry? Entry, Folder? Folder) Removed(StaleName name, Folder parent)
    {
        if (name.Inode == 0 || name.Inode > look.Super.Inodes)
            return default;
        EntryPath path = parent.Path[name.Name];
        InodeRead now = look.Inodes.Read(name.Inode);
        ExtInode? older = look.Inodes.Older(name.Inode, name.Before ?? uint.MaxValue);
        if (now is { IsHeld: true, Inode.IsLive: true } && (older is null || name.Before is null || older.Value.Generation == now.Inode.Generation))
            return default;
        Trust trust = parent.Trust.And(Trust.Weak);
        bool first = now is { IsHeld: true, Inode.IsLive: true } || Listed.Add(name.Inode);
        if (now is { IsHeld: true, Inode.IsDeleted: true } && now.Inode.Size(look.Super) > 0)
            return Removed(path, now.Inode, null, trust, parent, first);
        if (older is { } some)
            return Removed(path, some, name.Before ?? uint.MaxValue, trust.And(Trust.Older), parent, first);
        return (new Entry
        {
            Path = path,
            Kind = name.Kind ?? EntryKind.File,
            Deleted = true,
            Certainty = Certainty.Guessed,
            Origin = trust.Origin,
            Number = name.Inode,
            Notes = ["deleted; only its name remains"],
        }, null);
    }

    /// <summary>The entry of a deleted inode without a name; null where nothing of its content remains.</summary>
    public Entry? RemovedNameless(EntryPath path, ExtInode now)
    {
        uint? before = now.Size(look.Super) > 0 ? null : uint.MaxValue;
        if ((before is null ? now : look.Inodes.Older(now.Number, uint.MaxValue)) is not { } inode)
            return null;
        ExtContent content = _contents.OfDeleted(inode, before);
        Listed.Add(now.Number);
        return content.Content is null ? null
            : Of(path, inode, content, before is null ? Trust.Weak : Trust.Older, ["its name is not held", content.Note]) with { Deleted = true };
    }

    private (Entry? Entry, Folder? Folder) Removed(EntryPath path, ExtInode inode, uint? before, Trust trust, Folder parent, bool first)
    {
        // A second name of one deleted inode gets the name only: its map's blocks are followed once.
        ExtContent content = first ? _contents.OfDeleted(inode, before) : default;
        Folder? folder = inode.Kind == EntryKind.Folder && first && _removedFolders.Add(inode.Number)
            ? new Folder(inode, path, trust, parent.Inode.Number, before ?? uint.MaxValue) : null;
        return (Of(path, inode, content with { Trust = content.Trust.And(Trust.Weak) }, trust, [content.Note]) with { Deleted = true }, folder);
    }

    private static Entry Bare(EntryPath path, DirectoryName name, Trust trust, string note) => new()
    {
        Path = path,
        Kind = name.Kind ?? EntryKind.File,
        Certainty = trust.Certainty,
        Origin = trust.Origin,
        Number = name.Inode,
        Notes = [note],
    };

    private static Entry Of(EntryPath path, ExtInode inode, ExtContent content, Trust trust, string?[] notes)
    {
        trust = trust.And(content.Trust);
        return new Entry
        {
            Path = path,
            Kind = inode.Kind,
            Content = content.Content,
            Times = inode.Times,
            Attributes = inode.Attributes,
            Origin = trust.Origin,
            Certainty = trust.Certainty,
            Number = inode.Number,
            Notes = trust == Trust.Full && content.Note is null ? [] : [.. notes.Append(content.Note).OfType<string>().Distinct()],
        };
    }
}
