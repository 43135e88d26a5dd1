using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>A name that a folder's index holds for a file.</summary>
/// <param name="File">The file's record.</param>
/// <param name="Name">Its name in this folder.</param>
/// <param name="Times">Its times as the index keeps them.</param>
/// <param name="IsListed">Whether the index lists it; else it stands in room that the index no longer uses, or past something that is not held.</param>
internal readonly record struct IndexedName(RecordReference File, FileName Name, EntryTimes Times, bool IsListed);

/// <summary>Reads the index of a folder ($I30) as a plain list, without walking its tree.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, structs INDEX_ROOT, INDEX_BUFFER, INDEX_HDR, NTFS_DE.</remarks>
/// <param name="layout">The volume.</param>
internal sealed class FolderIndex(NtfsLayout layout)
{
    private const string IndexName = "$I30";
    private const int RootHeader = 0x10, BlockHeader = 0x18, EntryHead = 0x10, FirstAt = 0, UsedAt = 4, LengthAt = 8, KeyLengthAt = 10, FlagsAt = 12, LastEntry = 2;

    private readonly byte[] _block = new byte[layout.Boot.IndexBytes];

    // A made-up folder may claim any part of the volume as its index, and many may claim the same.
    private long _bytesLeft = layout.Part.Length;

    /// <summary>Where the blocks of a folder's index lie on the volume; null for one whose index fits into its record.</summary>
    public static StoredContent? Blocks(FileRecord folder, NtfsLayout layout) =>
        folder.Find(AttributeType.IndexAllocation, IndexName) is { } allocation ? AttributeBytes.Stored(allocation, layout) : null;

    /// <summary>Adds the names that the folder's index holds.</summary>
    /// <param name="folder">The folder, read with its index.</param>
    /// <param name="into">Where they go.</param>
    public void Read(FileRecord folder, List<IndexedName> into)
    {
        if (folder.Find(AttributeType.IndexRoot, IndexName) is { Value: not null } root)
            ReadNode(AttributeBytes.Prefix(root, layout, int.MaxValue, out _), RootHeader, Strides.AllGood, isUsed: true, folder.Header.Reference, into);
        if (Blocks(folder, layout) is not { } blocks)
            return;
        byte[] used = folder.Find(AttributeType.Bitmap, IndexName) is { } bitmap ? AttributeBytes.Prefix(bitmap, layout, ClaimMax(blocks), out _) : [];
        foreach (long block in HeldBlocks(blocks))
        {
            if ((_bytesLeft -= _block.Length) < 0)
                return;
            ReadBlock(blocks, block, block / 8 < used.Length && (used[block / 8] >> (int)(block % 8) & 1) != 0, folder.Header.Reference, into);
        }
    }

    private int ClaimMax(StoredContent blocks) => (int)Math.Min(1 << 20, (blocks.Length / _block.Length / 8) + 8);

    private IEnumerable<long> HeldBlocks(StoredContent blocks)
    {
        long at = 0, last = -1;
        foreach (Extent extent in blocks.Extents)
        {
            foreach (ByteRange held in extent.Kind == ExtentKind.Stored ? Held.In(layout.Part, extent.Place) : [])
            {
                long from = (at + held.Offset - extent.Offset) / _block.Length, to = (at + held.End - extent.Offset - 1) / _block.Length;
                for (long block = Math.Max(from, last + 1); block <= to && (block + 1) * _block.Length <= blocks.Length; block++)
                    yield return last = block;
            }

            at += extent.Length;
        }
    }

    private void ReadBlock(StoredContent blocks, long block, bool isUsed, RecordReference folder, List<IndexedName> into)
    {
        Strides held = Strides.Read(blocks, layout.Part, block * _block.Length, _block);
        if (MultiSector.Restore(_block, "INDX"u8, held) is Parsed<Strides>.Value { Item: var good })
            ReadNode(_block, BlockHeader, good, isUsed, folder, into);
    }

    private static void ReadNode(ReadOnlySpan<byte> node, int header, Strides good, bool isUsed, RecordReference folder, List<IndexedName> into)
    {
        int listEnd = header;
        if (isUsed && node.Length >= header + EntryHead && good.Cover(header, EntryHead))
            listEnd = ReadList(node, header, good, folder, into);
        for (int at = (listEnd + 7) / 8 * 8; at + EntryHead + FileName.HeadBytes <= node.Length; at += 8)
            Take(node[at..], at, node.Length - at, good, folder, isListed: false, into);
    }

    /// <summary>Reads the entries one after the other and answers where it had to stop.</summary>
    private static int ReadList(ReadOnlySpan<byte> node, int header, Strides good, RecordReference folder, List<IndexedName> into)
    {
        uint first = BinaryPrimitives.ReadUInt32LittleEndian(node[(header + FirstAt)..]), used = BinaryPrimitives.ReadUInt32LittleEndian(node[(header + UsedAt)..]);
        if (first < EntryHead || first % 8 != 0 || first > used || used > node.Length - header)
            return header;
        int at = header + (int)first, end = header + (int)used;
        while (at + EntryHead <= end && good.Cover(at, EntryHead))
        {
            int length = BinaryPrimitives.ReadUInt16LittleEndian(node[(at + LengthAt)..]), flags = BinaryPrimitives.ReadUInt16LittleEndian(node[(at + FlagsAt)..]);
            if (length < EntryHead || length % 8 != 0 || length > end - at)
                break;
            if ((flags & LastEntry) != 0)
                return end;
            Take(node[at..], at, length, good, folder, isListed: true, into);
            at += length;
        }

        return at;
    }

    // The folder's own reference inside the name is what makes eight bytes of leftovers recognisable.
    private static void Take(ReadOnlySpan<byte> entry, int at, int room, Strides good, RecordReference folder, bool isListed, List<IndexedName> into)
    {
        if (room < EntryHead + FileName.HeadBytes || !good.Cover(at, EntryHead) || RecordReference.Read(entry[EntryHead..]) != folder)
            return;
        int key = BinaryPrimitives.ReadUInt16LittleEndian(entry[KeyLengthAt..]);
        if (key < FileName.HeadBytes || key > room - EntryHead || !good.Cover(at + EntryHead, key))
            return;
        if (FileName.Read(entry.Slice(EntryHead, key)) is Parsed<FileName>.Value { Item: var name })
            into.Add(new IndexedName(RecordReference.Read(entry), name, FileTimes.Read(entry[(EntryHead + FileName.TimesAt)..]), isListed));
    }
}
