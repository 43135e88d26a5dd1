using System.Buffers.Binary;

namespace Turnstone.Volumes.Ext;

/// <summary>Content that lies inside its inode: the place of the block map, and the rest in the attribute 'system.data'.</summary>
/// <remarks>Layout: Linux kernel 6.1 documentation, filesystems/ext4, 'Inline Data' and 'Extended Attributes'.</remarks>
internal static class InlineData
{
    private const uint Magic = 0xEA02_0000;
    private const int EntrySize = 16, SystemIndex = 7;

    /// <summary>The bytes, as many as there are; the size of the file is the caller's to compare.</summary>
    public static byte[] Of(in ExtInode inode) => [.. inode.Map.Span, .. Rest(inode)];

    /// <summary>The part in the attribute; empty where there is none.</summary>
    public static ReadOnlySpan<byte> Rest(in ExtInode inode)
    {
        ReadOnlySpan<byte> attic = inode.Attic.Span;
        if (attic.Length < sizeof(uint) || BinaryPrimitives.ReadUInt32LittleEndian(attic) != Magic)
            return [];
        ReadOnlySpan<byte> entries = attic[sizeof(uint)..];
        for (int at = 0; at + EntrySize <= entries.Length && entries[at] != 0; at += (EntrySize + entries[at] + 3) & ~3)
        {
            int name = entries[at];
            if (at + EntrySize + name > entries.Length || entries[at + 1] != SystemIndex || !entries.Slice(at + EntrySize, name).SequenceEqual("data"u8))
                continue;
            int offset = BinaryPrimitives.ReadUInt16LittleEndian(entries[(at + 2)..]);
            uint size = BinaryPrimitives.ReadUInt32LittleEndian(entries[(at + 8)..]);
            return offset <= entries.Length && size <= (uint)(entries.Length - offset) ? entries.Slice(offset, (int)size) : [];
        }

        return [];
    }
}
