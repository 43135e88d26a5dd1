using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>One name in a block of a folder.</summary>
/// <param name="Inode">What it names.</param>
/// <param name="NameAt">Where the name starts in the block.</param>
/// <param name="NameLength">Bytes of the name.</param>
/// <param name="Kind">What the entry says it names; null where the volume does not keep it or the value is not known.</param>
/// <param name="Standing">How it stands in the block.</param>
internal readonly record struct DirectoryName(uint Inode, int NameAt, int NameLength, EntryKind? Kind, NameStanding Standing);

/// <summary>How a name stands in its block.</summary>
internal enum NameStanding
{
    /// <summary>In the chain from the block's start.</summary>
    Chained,

    /// <summary>In a chain that was taken up again behind bytes that are not held or make no sense.</summary>
    Resumed,

    /// <summary>In space that the chain passes over: it was removed, or moved to another block.</summary>
    PassedOver,
}

/// <summary>Reads the names in one block of a folder.</summary>
/// <remarks>
/// Layout: Linux kernel 6.1 documentation, filesystems/ext4, 'Directory Entries'. A hash tree needs no care: its nodes look
/// like an empty entry, or like a '..' that takes the whole block, and its leaves are plain blocks.
/// </remarks>
internal sealed class ExtDirectoryBlock(ExtSuperblock super)
{
    private const int HeaderSize = 8, TailSize = 12, TailMark = 0xDE;
    private const int LengthAt = 4, NameLengthAt = 6, TypeAt = 7;

    private readonly bool _hasType = super.Incompatible.HasFlag(Incompatible.FileType);

    /// <summary>Adds the names of a block; answers whether its chain held from start to end.</summary>
    /// <param name="block">The block, or the part of an inode that stands for one.</param>
    /// <param name="start">Where the chain starts.</param>
    /// <param name="into">Takes the names, '.' and '..' too.</param>
    /// <param name="passedOver">Whether names in passed-over space are wanted.</param>
    public bool Read(HeldBytes block, int start, List<DirectoryName> into, bool passedOver)
    {
        bool unbroken = true;
        int at = start, end = block.Data.Length;
        while (at < end)
        {
            if (Length(block, at) is int length && IsSane(block, at, length))
            {
                Take(block, at, length, unbroken ? NameStanding.Chained : NameStanding.Resumed, into);
                if (passedOver)
                    Slack(block, at, at + length, into);
                at += length;
                continue;
            }

            unbroken = false;
            at = Resume(block, at + 4);
        }

        return unbroken;
    }

    /// <summary>Whether the block's checksum fits the folder with this seed; null where it keeps none or is not whole.</summary>
    public bool? SumFits(HeldBytes block, uint seed)
    {
        int tail = block.Data.Length - TailSize;
        if (!super.HasMetadataSums || !block.IsWhole || tail < 0)
            return null;
        ReadOnlySpan<byte> data = block.Data;
        return U32(data, tail) == 0 && U16(data, tail + LengthAt) == TailSize && data[tail + TypeAt] == TailMark
            ? ExtSums.Crc32C(seed, data[..tail]) == U32(data, tail + HeaderSize) : null;
    }

    /// <summary>The inodes of '.' and '..' when the block is the first one of a folder; zeros where it is not.</summary>
    public static (uint Self, uint Parent) Dots(HeldBytes block)
    {
        ReadOnlySpan<byte> data = block.Data;
        return block.Holds(0, 24) && data[6] == 1 && data[8] == '.' && U16(data, LengthAt) == 12 && data[18] == 2 && data[20] == '.' && data[21] == '.'
            ? (U32(data, 0), U32(data, 12)) : default;
    }

    private void Take(HeldBytes block, int at, int length, NameStanding standing, List<DirectoryName> into)
    {
        uint inode = U32(block.Data, at);
        int name = NameLength(block.Data, at);
        if (inode != 0 && name > 0 && HeaderSize + name <= length)
            into.Add(new DirectoryName(inode, at + HeaderSize, name, KindAt(block.Data, at), standing));
    }

    /// <summary>Names in the bytes that an entry takes beyond its own need. The tail with the checksum names nothing.</summary>
    private void Slack(HeldBytes block, int at, int end, List<DirectoryName> into)
    {
        int need = U32(block.Data, at) == 0 ? HeaderSize : Need(NameLength(block.Data, at));
        for (int i = at + need; i + HeaderSize + 4 <= end;)
        {
            if (Length(block, i) is int length && length <= end - i && IsSane(block, i, length) && IsName(block.Data, i))
            {
                Take(block, i, length, NameStanding.PassedOver, into);
                i += Need(NameLength(block.Data, i));
            }
            else
            {
                i += 4;
            }
        }
    }

    /// <summary>The next place from which a chain of sane entries with real names leads to the block's end.</summary>
    private int Resume(HeldBytes block, int from)
    {
        int end = block.Data.Length;
        for (int at = from; at < end; at += 4)
        {
            if (Length(block, at) is int first && IsSane(block, at, first) && IsName(block.Data, at) && LeadsOn(block, at + first))
                return at;
        }

        return end;
    }

    /// <summary>Whether the next entry, if its bytes are held, is sane too. One step is enough: the chain goes on from there itself.</summary>
    private bool LeadsOn(HeldBytes block, int next) =>
        next == block.Data.Length || !block.Holds(next, HeaderSize) || (Length(block, next) is int length && IsSane(block, next, length));

    private bool IsSane(HeldBytes block, int at, int length)
    {
        uint inode = U32(block.Data, at);
        int name = NameLength(block.Data, at);
        return length >= HeaderSize + 4 && length % 4 == 0 && length <= block.Data.Length - at && inode <= super.Inodes
            && (inode == 0 || (Need(name) <= length && block.Holds(at, HeaderSize + name)));
    }

    private bool IsName(ReadOnlySpan<byte> data, int at)
    {
        int name = NameLength(data, at);
        return U32(data, at) != 0 && name is > 0 and <= 255 && (!_hasType || data[at + TypeAt] is > 0 and <= 7)
            && data.Slice(at + HeaderSize, name).IndexOfAny((byte)0, (byte)'/') < 0;
    }

    /// <summary>The entry's length; null where its header is not held. In blocks of 64 KiB a whole block is written as 65,535 or 0.</summary>
    private static int? Length(HeldBytes block, int at)
    {
        if (!block.Holds(at, HeaderSize))
            return null;
        int length = U16(block.Data, at + LengthAt);
        return block.Data.Length < 65_536 ? length : length is 0 or 65_535 ? 65_536 : (length & 0xFFFC) | ((length & 3) << 16);
    }

    private int NameLength(ReadOnlySpan<byte> data, int at) => _hasType ? data[at + NameLengthAt] : U16(data, at + NameLengthAt);

    private EntryKind? KindAt(ReadOnlySpan<byte> data, int at) => !_hasType ? null : data[at + TypeAt] switch
    {
        1 => EntryKind.File,
        2 => EntryKind.Folder,
        3 or 4 or 5 or 6 => EntryKind.Other,
        7 => EntryKind.Link,
        _ => null,
    };

    private static int Need(int name) => (HeaderSize + name + 3) & ~3;

    private static uint U32(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt32LittleEndian(b[at..]);

    private static int U16(ReadOnlySpan<byte> b, int at) => BinaryPrimitives.ReadUInt16LittleEndian(b[at..]);
}
