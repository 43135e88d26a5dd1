using System.Buffers.Binary;

namespace Turnstone.Volumes.Ext;

/// <summary>Lists what no walk from the root came by: inodes whose folders are not held, and deleted ones.</summary>
/// <remarks>
/// They stand in two folders of our own. Deleted inodes of which neither a name nor any content remains are left out:
/// there is nothing to say of them.
/// </remarks>
internal sealed class ExtLeftovers(ExtLook look, ExtEntries entries, ExtWalk walk)
{
    /// <summary>Stand-in for the folder of things that are there but were reached by no name.</summary>
    public const string Unreached = "(folder not known)";

    /// <summary>Stand-in for the folder of things that were deleted.</summary>
    public const string Deleted = "(deleted, folder not known)";

    private const uint RootInode = 2;

    private readonly List<uint> _folders = [], _others = [], _deleted = [];

    public IEnumerable<Entry> List()
    {
        Sort();
        foreach (Folder folder in InOrder())
        {
            if (walk.HasEntered(folder.Inode.Number) || entries.Listed.Contains(folder.Inode.Number))
                continue;
            if (folder.Inode.Number != RootInode)
                yield return entries.Nameless(folder.Path, new InodeRead(true, folder.Inode, folder.Trust));
            foreach (Entry entry in walk.Below(folder).SelectMany(batch => batch))
                yield return entry;
        }

        foreach (uint number in _others.Where(number => !entries.Listed.Contains(number)))
            yield return entries.Nameless(EntryPath.Root[Unreached][$"inode {number}"], look.Inodes.Read(number));
        foreach (uint number in _deleted.Where(number => !entries.Listed.Contains(number)))
        {
            if (entries.RemovedNameless(EntryPath.Root[Deleted][$"inode {number}"], look.Inodes.Read(number).Inode) is { } entry)
                yield return entry;
        }
    }

    /// <summary>Goes through the inode tables once.</summary>
    private void Sort()
    {
        var tables = new SparseBits();
        for (long group = 0; group < look.Groups.Count; group++)
        {
            // Two groups with one table: one of the descriptors is bent, and a listing of both would repeat itself.
            if (look.Groups.Find(group) is not { } found || !tables.Add(found.InodeTable))
                continue;
            foreach (uint number in look.Inodes.NumbersOf(group, found))
            {
                if (!entries.Listed.Contains(number) && !IsReserved(number))
                    Sort(number, look.Inodes.Read(number));
            }
        }
    }

    private void Sort(uint number, InodeRead read)
    {
        if (!read.IsHeld || read.Inode.Flags.HasFlag(InodeFlags.AttributeInode))
            return;
        if (read.Inode.IsLive)
            (read.Inode.Kind == EntryKind.Folder ? _folders : _others).Add(number);
        else if (read.Inode.IsDeleted)
            _deleted.Add(number);
    }

    private bool IsReserved(uint number) =>
        (number < look.Super.FirstFreeInode && number != RootInode) || number == look.Super.OrphanFile;

    /// <summary>Folders, those first that no other of them claims as its child.</summary>
    private IEnumerable<Folder> InOrder()
    {
        var unreached = _folders.ToHashSet();
        var later = new List<Folder>();
        foreach (uint number in _folders)
        {
            InodeRead read = look.Inodes.Read(number);
            uint parent = ParentOf(read.Inode);
            EntryPath place = walk.Incomplete.TryGetValue(parent, out EntryPath? known) ? known : EntryPath.Root[Unreached];
            EntryPath path = number == RootInode ? EntryPath.Root : place[$"folder {number}"];
            var folder = new Folder(read.Inode, path, read.Trust.And(number == RootInode ? Trust.Full : Trust.Weak), parent, null);
            if (unreached.Contains(parent) && parent != number)
                later.Add(folder);
            else
                yield return folder;
        }

        foreach (Folder folder in later)
            yield return folder;
    }

    /// <summary>The folder that a folder says it stands in; 0 where its first block is not held or not easily found.</summary>
    private uint ParentOf(in ExtInode inode)
    {
        ReadOnlySpan<byte> map = inode.Map.Span;
        if (inode.Flags.HasFlag(InodeFlags.InlineData))
            return BinaryPrimitives.ReadUInt32LittleEndian(map);
        bool isTree = inode.Flags.HasFlag(InodeFlags.Extents);
        if (isTree && (map is not [0x0A, 0xF3, ..] || map[6] != 0 || map[2] == 0))
            return 0;
        long block = isTree
            ? BinaryPrimitives.ReadUInt32LittleEndian(map[20..]) + ((long)BinaryPrimitives.ReadUInt16LittleEndian(map[18..]) << 32)
            : BinaryPrimitives.ReadUInt32LittleEndian(map);
        if (!look.Blocks.Contains(block, 1))
            return 0;
        (uint self, uint parent) = ExtDirectoryBlock.Dots(look.Blocks.Read(block, 1));
        return self == inode.Number ? parent : 0;
    }
}
