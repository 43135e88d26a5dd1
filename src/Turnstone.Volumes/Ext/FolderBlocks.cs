using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>A folder to be read.</summary>
/// <param name="Inode">Its inode, present or older.</param>
/// <param name="Path">Where it stands.</param>
/// <param name="Trust">How far that can be relied on.</param>
/// <param name="Parent">Inode of the folder that it stands in; 0 where not known.</param>
/// <param name="DeletedBefore">Transaction by which it was gone; null where it is there.</param>
internal readonly record struct Folder(ExtInode Inode, EntryPath Path, Trust Trust, uint Parent, uint? DeletedBefore);

/// <summary>One stretch of names of a folder.</summary>
/// <param name="Block">Block of the volume; null where it lies in the inode.</param>
/// <param name="IsFirst">Whether it is the folder's first block.</param>
/// <param name="Start">Where the chain of names starts.</param>
/// <param name="Bytes">The bytes.</param>
/// <param name="Trust">How far it is the folder's present state.</param>
internal readonly record struct NameBlock(long? Block, bool IsFirst, int Start, HeldBytes Bytes, Trust Trust);

/// <summary>The blocks of one folder as far as they are held, each taken once in a look.</summary>
internal sealed class FolderBlocks
{
    private readonly ExtLook _look;
    private readonly Folder _folder;

    public FolderBlocks(ExtLook look, Folder folder)
    {
        _look = look;
        _folder = folder;
        FileMap map = folder.Inode.Flags.HasFlag(InodeFlags.InlineData) ? new FileMap([], Trust.Full, null)
            : (IsRemoved ? look.RemovedMap : look.Map).Read(MapRoot.Of(folder.Inode, look.Super), folder.DeletedBefore, inPlace: true);
        Trust = map.Trust;
        IsWhole = map.Extents.All(extent => extent.Kind != ExtentKind.Unknown);
        Runs = [.. Stored(map.Extents)];
    }

    /// <summary>How far the map can be relied on.</summary>
    public Trust Trust { get; }

    private bool IsRemoved => _folder.DeletedBefore is not null;

    private SparseBits Claimed => IsRemoved ? _look.RemovedClaimed : _look.Claimed;

    /// <summary>Whether all that was met so far was held.</summary>
    public bool IsWhole { get; private set; }

    /// <summary>Runs of blocks on the volume, in the folder's order.</summary>
    public IReadOnlyList<(long Block, long Count, bool IsFirst)> Runs { get; }

    /// <summary>The blocks in order; where one is not held at all, its newest state in the journal.</summary>
    public IEnumerable<NameBlock> Read()
    {
        if (_folder.Inode.Flags.HasFlag(InodeFlags.InlineData))
        {
            foreach (NameBlock part in Inline(_folder.Inode))
                yield return part;
            yield break;
        }

        foreach ((long block, long count, bool isFirst) in Runs)
        {
            foreach (NameBlock read in ReadRun(block, count, isFirst))
                yield return read;
        }
    }

    /// <summary>The two stretches of names of a folder that lies in its inode; the first one starts with the parent's number.</summary>
    public static NameBlock[] Inline(in ExtInode inode) =>
    [
        new NameBlock(null, false, sizeof(uint), new HeldBytes(inode.Map.ToArray(), []), Trust.Full),
        new NameBlock(null, false, 0, new HeldBytes(InlineData.Rest(inode).ToArray(), []), Trust.Full),
    ];

    private IEnumerable<NameBlock> ReadRun(long first, long count, bool isFirst)
    {
        long held = 0;
        foreach (long block in _look.Blocks.Held(first, count))
        {
            // A block of two folders: one of the maps is bent, and following it further could go on for ever.
            if (!Claimed.Add(block))
            {
                IsWhole = false;
                yield break;
            }

            held++;
            HeldBytes bytes = _look.Blocks.Read(block, 1);
            IsWhole &= bytes.IsWhole;
            yield return new NameBlock(block, isFirst && block == first, 0, bytes, Trust.Full);
        }

        if (held == count)
            yield break;
        IsWhole = false;
        foreach (JournalCopy copy in NewestCopies(first, count))
        {
            if (Claimed.Add(copy.Block))
                yield return new NameBlock(copy.Block, isFirst && copy.Block == first, 0, _look.Blocks.Read(copy), Trust.Older);
        }
    }

    private List<JournalCopy> NewestCopies(long first, long count)
    {
        var newest = new List<JournalCopy>();
        foreach (JournalCopy copy in _look.Journal.CopiesOf(first, count))
        {
            if (newest.Count > 0 && newest[^1].Block == copy.Block)
                newest[^1] = copy;
            else
                newest.Add(copy);
        }

        return newest;
    }

    private IEnumerable<(long Block, long Count, bool IsFirst)> Stored(IReadOnlyList<Extent> extents)
    {
        // A folder's size is a whole number of blocks; what is cut off a last one is of no use.
        int size = _look.Super.BlockSize;
        for (int i = 0; i < extents.Count; i++)
        {
            if (extents[i].Kind == ExtentKind.Stored && extents[i].Length >= size)
                yield return ((extents[i].Offset - _look.Blocks.Part.Part.Offset) / size, extents[i].Length / size, i == 0);
        }
    }
}
