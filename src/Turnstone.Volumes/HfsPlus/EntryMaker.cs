namespace Turnstone.Volumes.HfsPlus;

/// <summary>Where a record was read and whether it is of the past.</summary>
/// <param name="Certainty">How sure it is that the record belongs to the tree.</param>
/// <param name="Origin">Where it was read.</param>
/// <param name="IsOld">Whether the tree has given the record up, so that further runs of its forks may stand in given-up nodes, too.</param>
/// <param name="IsDeleted">Whether the file is gone, too, and not only this record of it.</param>
internal readonly record struct RecordSource(Certainty Certainty, Origin Origin, bool IsOld = false, bool IsDeleted = false);

/// <summary>Turns catalog records into entries.</summary>
internal sealed class EntryMaker(VolumeReading reading, FolderTree folders, HardLinks links)
{
    /// <summary>Name of a resource fork in a path.</summary>
    public const string ResourceForkName = "rsrc";

    private readonly ContentMaker _contents = new(reading);

    /// <summary>Adds what a folder or file record stands for: nothing, one entry, or a file and its resource fork.</summary>
    public void Add(CatalogRecord record, RecordSource source, List<Entry> into)
    {
        if (record.Type == CatalogRecordType.Folder)
        {
            if (record.Id != CatalogRecord.Root && !links.IsPrivate(record.Id) && !links.IsLinkedFolder(record))
                into.Add(Made(record, record, source, EntryKind.Folder, null));
        }
        else if (HardLinks.IsFileLink(record))
            AddLinked(record, source, into);
        else if (HardLinks.IsFolderLink(record))
            into.Add(FolderLink(record, source));
        else if (!links.IsLinked(record))
            AddFile(record, record, source, into);
    }

    /// <summary>Adds files that are kept for links of which none was found, under the names that they have there.</summary>
    public void AddUnlinked(CatalogRecord record, RecordSource source, List<Entry> into) => AddFile(record, record, source, into);

    /// <summary>The entry that a thread names and whose own record is not held.</summary>
    public Entry Named(CatalogRecord thread, RecordSource source)
    {
        FolderPlace folder = folders.Of(thread.ThreadParent);
        bool isFolder = thread.Type == CatalogRecordType.FolderThread;
        return new Entry
        {
            Path = folder.Path[thread.ThreadName],
            Kind = isFolder ? EntryKind.Folder : EntryKind.File,
            Content = isFolder ? null : ContentMaker.OfUnknownSize("its catalog record is not held"),
            Origin = Worse(reading.Found.Origin, source.Origin),
            Certainty = Worst(Certainty.Likely, source.Certainty, folder.Certainty, HeaderCertainty),
            Number = thread.Id,
            Notes = [isFolder ? "only its name is known: its catalog record is not held" : "only its name is known, not its size: its catalog record is not held"],
        };
    }

    /// <summary>The most that any entry of the volume can be.</summary>
    private Certainty HeaderCertainty
    {
        get
        {
            Certainty most = reading.Found.Origin == Origin.Table ? Certainty.Sure : reading.Found.Certainty;
            return reading.MayBeBehind ? Worst(most, Certainty.Likely) : most;
        }
    }

    // 'name' says where the file stands, 'body' what it is: two records for a hard link, otherwise one
    private void AddFile(CatalogRecord name, CatalogRecord body, RecordSource source, List<Entry> into)
    {
        EntryKind kind = KindOf(body);
        MadeContent made = _contents.Data(body, source.IsOld);
        Entry file = Made(name, body, source, kind, kind == EntryKind.Other && made.Content.Length == 0 ? null : made);
        into.Add(file);
        if (_contents.ResourceFork(body, source.IsOld) is { } fork)
            into.Add(Made(name, body, source, EntryKind.Stream, fork) with { Path = file.Path[ResourceForkName] });
    }

    private void AddLinked(CatalogRecord link, RecordSource source, List<Entry> into)
    {
        if (links.Target(link.Special) is { } place && reading.Catalog.Read(place.Leaf.Number) is { IsLeaf: true } node && place.Index < node.Found
            && CatalogRecord.Of(node.Record(place.Index)) is { Type: CatalogRecordType.File } target)
        {
            Certainty certainty = Worst(source.Certainty, ForkPlaces.CertaintyOf(place.Leaf.Standing));
            AddFile(link, target, source with { Certainty = certainty, Origin = Worse(source.Origin, node.Origin) }, into);
            return;
        }

        MadeContent none = new(ContentMaker.OfUnknownSize("the file that this hard link leads to is not held"), Certainty.Likely, Origin.Table, EntryAttributes.None,
            [$"hard link to file {link.Special}, which is not held: its size is not known"]);
        into.Add(Made(link, link, source, EntryKind.File, none));
    }

    private Entry FolderLink(CatalogRecord link, RecordSource source)
    {
        Entry entry = Made(link, link, source, EntryKind.Folder, null);
        return links.IsFirst(link) ? entry : entry with { Notes = [.. entry.Notes, $"hard link to folder {link.Special}, whose entries are listed under another name"] };
    }

    private Entry Made(CatalogRecord name, CatalogRecord body, RecordSource source, EntryKind kind, MadeContent? made)
    {
        FolderPlace folder = folders.Of(name.Parent);
        IReadOnlyList<string> notes = made?.Notes ?? [];
        return new Entry
        {
            Path = folder.Path[name.Name],
            Kind = kind,
            Content = made?.Content,
            Deleted = source.IsDeleted,
            Times = TimesOf(body),
            Attributes = AttributesOf(body) | (made?.Attributes ?? EntryAttributes.None),
            Origin = Worse(Worse(reading.Found.Origin, source.Origin), made?.Origin ?? Origin.Table),
            Certainty = Worst(source.Certainty, folder.Certainty, made?.Certainty ?? Certainty.Sure, HeaderCertainty),
            Number = body.Id,
            Notes = folder.IsFound ? notes : [.. notes, $"the way to its folder (number {name.Parent}) is not held"],
        };
    }

    private static EntryKind KindOf(CatalogRecord record)
    {
        const uint linkType = 0x736C6E6B;
        const int fifo = 1, characters = 2, blocks = 6, link = 10, socket = 12;
        return (record.Mode >> 12) switch
        {
            link => EntryKind.Link,
            fifo or characters or blocks or socket => EntryKind.Other,
            _ => record.FinderType == linkType ? EntryKind.Link : EntryKind.File,
        };
    }

    private static EntryAttributes AttributesOf(CatalogRecord record)
    {
        const int lockedFlag = 1, immutable = 2, invisible = 0x4000;
        bool isFile = record.Type == CatalogRecordType.File;
        EntryAttributes attributes = (record.FinderFlags & invisible) != 0 ? EntryAttributes.Hidden : EntryAttributes.None;
        return (isFile && (record.Flags & lockedFlag) != 0) || (record.OwnerFlags & immutable) != 0 ? attributes | EntryAttributes.ReadOnly : attributes;
    }

    private static EntryTimes TimesOf(CatalogRecord record) => new(HfsTime.Of(record.Date(16)), HfsTime.Of(record.Date(12)), HfsTime.Of(record.Date(24)), HfsTime.Of(record.Date(20)));

    private static Certainty Worst(params ReadOnlySpan<Certainty> all)
    {
        Certainty worst = Certainty.Sure;
        foreach (Certainty certainty in all)
            worst = certainty > worst ? certainty : worst;
        return worst;
    }

    private static Origin Worse(Origin a, Origin b) => a > b ? a : b;
}

/// <summary>Seconds since the beginning of 1904, UTC; 0 means none.</summary>
internal static class HfsTime
{
    private const long To1970 = 2_082_844_800;

    public static DateTimeOffset? Of(uint seconds) => seconds == 0 ? null : DateTimeOffset.FromUnixTimeSeconds(seconds - To1970);
}
