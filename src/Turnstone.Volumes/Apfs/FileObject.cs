using Turnstone.Volumes.Apple;

namespace Turnstone.Volumes.Apfs;

/// <summary>All that the tree tells of one inode: itself, its attributes, its stretches.</summary>
/// <param name="Inode">The inode.</param>
/// <param name="Attributes">Its extended attributes.</param>
/// <param name="Content">Its bytes; null for a folder, and where not even their number makes sense.</param>
/// <param name="Trust">How far all of it is to be trusted.</param>
/// <param name="Notes">What a technician should know.</param>
internal sealed record FileObject(Inode Inode, IReadOnlyList<ExtendedAttribute> Attributes, FileContent? Content, Trust Trust, IReadOnlyList<string> Notes);

/// <summary>Reads inodes together with what belongs to them.</summary>
/// <param name="tree">The volume's records.</param>
/// <param name="blocks">The container.</param>
/// <param name="mask">Turns a stretch of a file that was given up into what may still be said of it; null for live files.</param>
internal sealed class FileObjects(FileTree tree, ContainerBlocks blocks, Func<Extent, ulong, IEnumerable<Extent>>? mask = null)
{
    /// <summary>What is known of an inode; the flag tells whether something that could add to it cannot be had.</summary>
    public (FileObject? Found, bool HasGap) Read(ulong id)
    {
        FoundRecords found = tree.Of(id, RecordType.Inode, RecordType.Attribute);
        Inode? inode = found.Records.Where(r => r.Key.Type == RecordType.Inode).Select(r => Inode.Read(r).OrNone).FirstOrDefault();
        return (inode is null ? null : Join(inode, found), found.HasGap);
    }

    private FileObject Join(Inode inode, FoundRecords found)
    {
        List<ExtendedAttribute> attributes = [.. found.Records.Where(r => r.Key.Type == RecordType.Attribute)
            .Select(r => ExtendedAttribute.Read(r).OrNone).OfType<ExtendedAttribute>()];
        var notes = new List<string>();
        Trust trust = inode.Trust;
        FileContent? content = inode.Kind switch
        {
            EntryKind.File => FileBytes(inode, attributes, found.HasGap, notes, ref trust),
            EntryKind.Link => LinkTarget(attributes, notes, ref trust),
            EntryKind.Folder or EntryKind.Stream or EntryKind.Other => null,
        };
        return new FileObject(inode, attributes, content, trust, notes);
    }

    /// <summary>The bytes of an attribute; null where their number makes no sense.</summary>
    public FileContent? Bytes(ExtendedAttribute attribute, ref Trust trust)
    {
        trust &= attribute.Trust;
        return attribute.StreamId is { } stream
            ? Stream(stream, attribute.StreamSize, mayShare: false, ref trust)
            : new ResidentContent(attribute.Embedded.ToArray());
    }

    private FileContent? FileBytes(Inode inode, List<ExtendedAttribute> attributes, bool hasGap, List<string> notes, ref Trust trust)
    {
        if (inode.IsDataless)
            notes.Add("its bytes were left with a cloud service and are not on the disk");
        if (inode.IsCompressed)
            return Compressed(attributes, hasGap, notes, ref trust);
        return Stream(inode.StreamId, inode.Size ?? 0, inode.MayShareBlocks, ref trust);
    }

    private FileContent? Compressed(List<ExtendedAttribute> attributes, bool hasGap, List<string> notes, ref Trust trust)
    {
        ExtendedAttribute? header = attributes.Find(a => a.Name == ExtendedAttribute.Compression);
        ExtendedAttribute? fork = attributes.Find(a => a.Name == ExtendedAttribute.ResourceFork);
        FileContent? stored = fork is null ? null : Bytes(fork, ref trust);
        FileContent? content = header is null ? null : CompressionHeader.Read(header.Embedded.ToArray()).OrNone?.Content(stored);
        trust &= header?.Trust ?? default;
        if (content is null)
        {
            trust = trust.AtMost(Certainty.Likely);
            notes.Add(header is null && hasGap ? "compressed, and what says how is not held: its size is not known" : "compressed, and what says how makes no sense: its size is not known");
        }

        return content;
    }

    private static ResidentContent? LinkTarget(List<ExtendedAttribute> attributes, List<string> notes, ref Trust trust)
    {
        if (attributes.Find(a => a.Name == ExtendedAttribute.Symlink) is not { StreamId: null } target)
        {
            trust = trust.AtMost(Certainty.Likely);
            notes.Add("the attribute with the link's target is not held or damaged");
            return null;
        }

        trust &= target.Trust;
        ReadOnlyMemory<byte> text = target.Embedded;
        int end = text.Span.IndexOf((byte)0);
        // A copy, so that an entry does not keep its whole node in memory.
        return new ResidentContent((end < 0 ? text : text[..end]).ToArray());
    }

    /// <summary>A data stream's stretches; null where its size makes no sense.</summary>
    private StoredContent? Stream(ulong stream, ulong size, bool mayShare, ref Trust trust)
    {
        if (size > long.MaxValue)
            return null;
        var list = new ExtentList((long)size);
        foreach (FileRecord? record in size == 0 ? [] : tree.Walk(stream, RecordType.Extent, RecordType.Extent))
        {
            if (record is { } held && FileExtent.Read(held) is { } extent && !Add(list, extent, mayShare, ref trust))
                break;
        }

        if (!list.IsComplete)
            trust = trust.AtMost(Certainty.Likely);
        return new StoredContent(list.Finish());
    }

    /// <summary>Adds one stretch at its place; answers false where the list is as long as it gets.</summary>
    private bool Add(ExtentList list, FileExtent extent, bool mayShare, ref Trust trust)
    {
        if (extent.At > long.MaxValue || extent.Length == 0)
            return true;
        trust &= extent.Trust;
        if (extent.At < (ulong)list.Covered)
        {
            // Two records for one stretch: one of them is wrong, and nothing says which.
            trust = trust.AtMost(Certainty.Guessed);
            return true;
        }

        if ((ulong)list.Covered < extent.At)
            list.Add(Extent.Unknown((long)extent.At - list.Covered));
        foreach (Extent stretch in Places(extent, mayShare))
            list.Add(stretch);
        return !list.IsComplete;
    }

    private IEnumerable<Extent> Places(FileExtent extent, bool mayShare)
    {
        if (extent.Address == 0)
            return [Extent.Zeros((long)extent.Length)];
        ulong blockCount = (extent.Length + (ulong)blocks.BlockBytes - 1) / (ulong)blocks.BlockBytes;
        if (!blocks.Contains(extent.Address, blockCount))
            return [Extent.Unknown((long)extent.Length)];
        var stored = Extent.At(blocks.Place(extent.Address).Offset, (long)extent.Length);
        return mask is null || mayShare ? [stored] : mask(stored, extent.Address);
    }
}
