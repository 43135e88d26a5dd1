using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>The list of records that hold a file's attributes, for files whose attributes don't fit into one record.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_LIST_ENTRY.</remarks>
internal static class AttributeList
{
    /// <summary>The largest list that NTFS writes (common practice, no source).</summary>
    public const int BytesMax = 256 << 10;

    private const int LengthAt = 4, RecordAt = 0x10, EntryBytesMin = 0x1A;

    /// <summary>The record of each entry, from the start as long as entries make sense; one record comes as often as it holds attributes.</summary>
    public static List<RecordReference> Records(ReadOnlySpan<byte> list)
    {
        var records = new List<RecordReference>();
        while (list.Length >= EntryBytesMin)
        {
            int length = BinaryPrimitives.ReadUInt16LittleEndian(list[LengthAt..]);
            if (length < EntryBytesMin || length % 8 != 0 || length > list.Length || BinaryPrimitives.ReadUInt32LittleEndian(list) == 0)
                break;
            records.Add(RecordReference.Read(list[RecordAt..]));
            list = list[length..];
        }

        return records;
    }
}
