using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Where one part of a file's attributes lies, for files whose attributes don't fit into one record.</summary>
/// <param name="Type">Kind of the attribute.</param>
/// <param name="IsNamed">Whether it has a name of its own.</param>
/// <param name="FirstVcn">First cluster of the attribute that this part describes.</param>
/// <param name="Record">The record that holds it.</param>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_LIST_ENTRY.</remarks>
internal readonly record struct AttributeListEntry(AttributeType Type, bool IsNamed, long FirstVcn, RecordReference Record)
{
    /// <summary>The largest list that NTFS writes (common practice, no source).</summary>
    public const int ListBytesMax = 256 << 10;

    private const int LengthAt = 4, NameLengthAt = 6, VcnAt = 8, ReferenceAt = 0x10, Head = 0x1A;

    /// <summary>The entries from the start as long as they make sense.</summary>
    public static List<AttributeListEntry> ReadAll(ReadOnlySpan<byte> list)
    {
        var entries = new List<AttributeListEntry>();
        while (list.Length >= Head)
        {
            int length = BinaryPrimitives.ReadUInt16LittleEndian(list[LengthAt..]);
            uint type = BinaryPrimitives.ReadUInt32LittleEndian(list);
            if (length < Head || length % 8 != 0 || length > list.Length || type == 0)
                break;
            entries.Add(new AttributeListEntry((AttributeType)type, list[NameLengthAt] != 0, BinaryPrimitives.ReadInt64LittleEndian(list[VcnAt..]), RecordReference.Read(list[ReferenceAt..])));
            list = list[length..];
        }

        return entries;
    }
}
