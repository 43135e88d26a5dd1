using System.IO.Hashing;

namespace Turnstone.Volumes.Ext;

/// <summary>A name that stood in a folder and no longer does.</summary>
/// <param name="Name">The name as text.</param>
/// <param name="Inode">What it named.</param>
/// <param name="Kind">What the entry said it named.</param>
/// <param name="Before">Transaction by which the name was gone; null where that is not known.</param>
internal readonly record struct StaleName(string Name, uint Inode, EntryKind? Kind, uint? Before);

/// <summary>Finds names that a folder once had: in space that its blocks pass over, and in older states of the blocks.</summary>
internal sealed class StaleNames(ExtLook look, ExtDirectoryBlock reader, Folder folder)
{
    private readonly List<ulong> _live = [];
    private readonly List<NameBlock> _blocks = [];
    private readonly HashSet<ulong> _known = [];

    /// <summary>Takes a name that is there now.</summary>
    public void AddLive(ReadOnlySpan<byte> name) => _live.Add(XxHash3.HashToUInt64(name));

    /// <summary>Takes a block with names in passed-over space; its bytes are read again when they are wanted.</summary>
    public void AddBlock(NameBlock block)
    {
        if (block.Block is not null && (_blocks.Count == 0 || _blocks[^1].Block != block.Block))
            _blocks.Add(block with { Bytes = new HeldBytes([], []) });
    }

    /// <summary>The names, each once.</summary>
    public List<StaleName> Find(FolderBlocks blocks)
    {
        var found = new List<StaleName>();
        bool isInline = folder.Inode.Flags.HasFlag(InodeFlags.InlineData);
        if (_blocks.Count == 0 && folder.DeletedBefore is null && !isInline && blocks.Runs.All(run => look.Journal.CopiesOf(run.Block, run.Count).IsEmpty))
            return found;
        _known.UnionWith(_live);
        foreach (NameBlock block in _blocks)
            Add(look.Blocks.Read(block.Block!.Value, 1), standing => standing == NameStanding.PassedOver, folder.DeletedBefore, found);
        foreach ((long block, long count, bool isFirst) in blocks.Runs)
            FromJournal(block, count, isFirst, found);
        if (folder.DeletedBefore is not null)
            FromRemains(blocks, found);
        if (isInline)
            FromInodes(found);
        return found;
    }

    private void FromJournal(long block, long count, bool isFirst, List<StaleName> found)
    {
        ReadOnlySpan<JournalCopy> copies = look.Journal.CopiesOf(block, count);
        for (int i = copies.Length - 1; i >= 0; i--)
        {
            uint? before = i + 1 < copies.Length && copies[i + 1].Block == copies[i].Block ? copies[i + 1].Sequence : null;
            HeldBytes read = look.Blocks.Read(copies[i]);
            if (IsOfFolder(read, isFirst && copies[i].Block == block))
                Add(read, standing => standing == NameStanding.Chained, before ?? folder.DeletedBefore, found);
        }
    }

    /// <summary>What the blocks of a deleted folder still show, unless they are something else by now.</summary>
    private void FromRemains(FolderBlocks blocks, List<StaleName> found)
    {
        foreach (NameBlock block in blocks.Read())
        {
            if (block.Block is null || IsOfFolder(block.Bytes, block.IsFirst))
                Add(block.Bytes, static _ => true, folder.DeletedBefore, found, block.Start);
        }
    }

    /// <summary>Names that lay in the folder's inode in older states of it.</summary>
    private void FromInodes(List<StaleName> found)
    {
        uint? before = null;
        foreach ((ExtInode inode, uint sequence) in look.Inodes.States(folder.Inode.Number))
        {
            bool same = inode.Kind == EntryKind.Folder && inode.Generation == folder.Inode.Generation && inode.Flags.HasFlag(InodeFlags.InlineData);
            foreach (NameBlock part in same ? FolderBlocks.Inline(inode) : [])
                Add(part.Bytes, standing => standing == NameStanding.Chained, before ?? folder.DeletedBefore, found, part.Start);
            before = sequence;
        }
    }

    private bool IsOfFolder(HeldBytes block, bool isFirst)
    {
        if (isFirst && ExtDirectoryBlock.Dots(block).Self != folder.Inode.Number)
            return false;
        return look.Super.HasMetadataSums
            ? reader.SumFits(block, folder.Inode.Seed(look.Super)) == true
            : block.IsWhole && reader.Read(block, 0, [], passedOver: false);
    }

    private void Add(HeldBytes block, Func<NameStanding, bool> wanted, uint? before, List<StaleName> found, int start = 0)
    {
        var names = new List<DirectoryName>();
        reader.Read(block, start, names, passedOver: true);
        foreach (DirectoryName name in names)
        {
            ReadOnlySpan<byte> text = block.Data.AsSpan(name.NameAt, name.NameLength);
            if (wanted(name.Standing) && !text.SequenceEqual("."u8) && !text.SequenceEqual(".."u8) && IsNew(text, name.Inode))
                found.Add(new StaleName(ExtNames.Show(text), name.Inode, name.Kind, before));
        }
    }

    /// <summary>Whether no such name is there and it was not found before; the same name of another inode is another file.</summary>
    private bool IsNew(ReadOnlySpan<byte> name, uint inode)
    {
        ulong hash = XxHash3.HashToUInt64(name);
        return !_known.Contains(hash) && _known.Add(XxHash3.HashToUInt64(name, inode));
    }
}
