using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>The bytes of one file and how far their place can be relied on.</summary>
/// <param name="Content">The bytes; null where nothing is known of them, or the thing has none.</param>
/// <param name="Trust">How far that can be relied on.</param>
/// <param name="Note">What a technician should know; null where there is nothing.</param>
internal readonly record struct ExtContent(FileContent? Content, Trust Trust, string? Note);

/// <summary>Turns an inode into the bytes of its file.</summary>
internal sealed class ExtContents(ExtLook look)
{
    private const string EncryptedWhy = "encrypted by the file system (fscrypt): it can be read only with the owner's key";

    /// <summary>How often each block may be looked up for deleted files, on average, before the rest counts as unknown: bent inodes may all claim everything.</summary>
    private const int LookUpsPerBlock = 4;

    private readonly Dictionary<uint, (ExtContent Content, int Left)> _linked = [];
    private long _lookUpsLeft = LookUpsPerBlock * Math.Min(look.Super.Blocks, look.Blocks.Part.Length / look.Super.BlockSize);

    /// <summary>Content of something that is there. A file of several names is followed once.</summary>
    public ExtContent Of(in ExtInode inode)
    {
        if (inode.Links < 2 || inode.Kind == EntryKind.Folder)
            return Make(inode, look.Map);
        if (!_linked.TryGetValue(inode.Number, out (ExtContent Content, int Left) known))
            known = (Make(inode, look.Map), inode.Links);
        if (known.Left > 1)
            _linked[inode.Number] = (known.Content, known.Left - 1);
        else
            _linked.Remove(inode.Number);
        return known.Content;
    }

    /// <summary>What remains of the content of something that was deleted: stretches that others took since are unknown.</summary>
    /// <param name="inode">Its inode, present or older.</param>
    /// <param name="before">Transaction before which the map's blocks stood as they were; null for the present state.</param>
    public ExtContent OfDeleted(in ExtInode inode, uint? before)
    {
        if (inode.Size(look.Super) <= 0 || inode.Kind is EntryKind.Folder or EntryKind.Other)
            return new ExtContent(null, Trust.Weak, null);
        ExtContent known = Make(inode, look.RemovedMap, before);
        if (known.Content is not StoredContent stored)
            return known with { Trust = known.Trust.And(Trust.Weak) };

        // On the list of orphans the time of deletion is a number instead; such a file was open to the last and owns its blocks.
        bool stillOwns = before is null && inode.Deleted <= look.Super.Inodes;
        (IReadOnlyList<Extent> left, long taken) = stillOwns ? (stored.Extents, 0) : WithoutTaken(stored);
        string note = taken == 0 ? "deleted; nothing else is known to use its place" : $"deleted; {taken} bytes of its place are in use again";
        return new ExtContent(taken == stored.Length ? null : new StoredContent(left), known.Trust.And(Trust.Weak), note);
    }

    private ExtContent Make(in ExtInode inode, BlockMap maps, uint? before = null)
    {
        if (inode.Kind is EntryKind.Folder or EntryKind.Other)
            return default;
        if (inode.Flags.HasFlag(InodeFlags.InlineData))
            return Guard(inode, Inline(inode));
        long size = inode.Size(look.Super);
        if (inode.Kind == EntryKind.Link && size < ExtInode.MapSize && !inode.Flags.HasFlag(InodeFlags.Extents))
            return Guard(inode, new ResidentContent(inode.Map[..(int)Math.Max(0, size)].ToArray()));
        FileMap map = maps.Read(MapRoot.Of(inode, look.Super), before);
        return size < 0 || (size > 0 && map.Extents.Count == 0)
            ? new ExtContent(null, map.Trust, map.Note)
            : new ExtContent(Guard(inode, new StoredContent(map.Extents)).Content, map.Trust, map.Note);
    }

    private FileContent Inline(in ExtInode inode)
    {
        long size = inode.Size(look.Super);
        byte[] bytes = InlineData.Of(inode);
        return size >= 0 && size <= bytes.Length
            ? new ResidentContent(bytes.AsMemory(0, (int)size))
            : new UnreadableContent(Math.Max(1, size), "its bytes should lie in its inode, but not all of them are there");
    }

    private static ExtContent Guard(in ExtInode inode, FileContent content) => new(
        inode.Flags.HasFlag(InodeFlags.Encrypted) && content.Length > 0 ? new UnreadableContent(content.Length, EncryptedWhy, content.Extents) : content, Trust.Full, null);

    private (IReadOnlyList<Extent> Left, long Taken) WithoutTaken(StoredContent stored)
    {
        var left = new ExtentList(stored.Length);
        long taken = 0;
        foreach (Extent extent in stored.Extents)
        {
            int blockSize = look.Super.BlockSize;
            if (extent.Kind != ExtentKind.Stored || extent.Length / blockSize > _lookUpsLeft)
            {
                left.Add(extent.Kind == ExtentKind.Stored ? Extent.Unknown(extent.Length) : extent);
                continue;
            }

            _lookUpsLeft -= extent.Length / blockSize;
            for (long at = 0; at < extent.Length; at += blockSize)
            {
                long length = Math.Min(blockSize, extent.Length - at);
                bool used = look.Bitmaps.Of((extent.Offset + at - look.Blocks.Part.Part.Offset) / blockSize) == Usage.Used;
                left.Add(used ? Extent.Unknown(length) : Extent.At(extent.Offset + at, length));
                taken += used ? length : 0;
            }
        }

        return (left.Finish(), taken);
    }
}
