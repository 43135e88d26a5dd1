namespace Turnstone.Volumes.Apfs;

/// <summary>Turns what the tree tells into entries.</summary>
internal static class EntryMaker
{
    /// <summary>Stand-in for a folder whose own place is lost.</summary>
    public static EntryPath LostFolder(ulong id) => EntryPath.Root["lost+found"][$"folder {id}"];

    /// <summary>The entry itself, then its streams.</summary>
    public static IEnumerable<Entry> All(FileObjects objects, FileObject found, EntryPath path, Trust trust, bool deleted, IReadOnlyList<string> notes)
    {
        Entry main = Main(found, path, trust & found.Trust, deleted, notes);
        yield return main;
        foreach (ExtendedAttribute attribute in found.Attributes.Where(a => !IsPartOf(found.Inode, a)))
            yield return Stream(objects, main, attribute);
    }

    /// <summary>A name in a folder whose inode cannot be had: not even the size is known.</summary>
    public static Entry WithoutInode(EntryPath path, DirectoryEntry name, Trust trust, bool hasGap, bool deleted)
    {
        Trust known = trust.AtMost(Certainty.Likely);
        return new Entry
        {
            Path = path,
            Kind = name.Kind,
            Deleted = deleted,
            Origin = known.Origin,
            Certainty = known.Certainty,
            Number = Number(name.FileId),
            Notes = [hasGap ? "its inode is not held: size and place are not known" : "its inode does not exist"],
        };
    }

    private static Entry Main(FileObject found, EntryPath path, Trust trust, bool deleted, IReadOnlyList<string> notes) => new()
    {
        Path = path,
        Kind = found.Inode.Kind,
        Content = found.Content,
        Deleted = deleted,
        Times = found.Inode.Times,
        Attributes = found.Inode.Attributes,
        Origin = trust.Origin,
        Certainty = trust.Certainty,
        Number = Number(found.Inode.Id),
        Notes = notes,
    };

    private static Entry Stream(FileObjects objects, Entry main, ExtendedAttribute attribute)
    {
        var trust = new Trust(main.Origin, main.Certainty);
        FileContent? content = objects.Bytes(attribute, ref trust);
        return main with
        {
            Path = main.Path[attribute.Name],
            Kind = EntryKind.Stream,
            Content = content,
            Attributes = EntryAttributes.None,
            Origin = trust.Origin,
            Certainty = trust.Certainty,
            Notes = [],
        };
    }

    /// <summary>Whether the attribute is how the file itself is stored, and no stream beside it.</summary>
    private static bool IsPartOf(Inode inode, ExtendedAttribute attribute) => attribute.Name switch
    {
        ExtendedAttribute.Symlink => inode.Kind == EntryKind.Link,
        ExtendedAttribute.Compression or ExtendedAttribute.ResourceFork => inode.IsCompressed,
        _ => false,
    };

    private static long? Number(ulong id) => id <= long.MaxValue ? (long)id : null;
}
