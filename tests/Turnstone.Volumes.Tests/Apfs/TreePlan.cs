using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>Records of a file tree under construction. Names carry no hash: the volume says that it needs none.</summary>
/// <remarks>Layouts: Apple, Apple File System Reference, 2020 (from memory), as the outside volumes show them.</remarks>
internal sealed class TreePlan
{
    private readonly List<(byte[] Key, byte[] Value)> _records = [];

    public IEnumerable<(byte[] Key, byte[] Value)> Records => _records.OrderBy(r => r.Key, Comparer<byte[]>.Create(Compare));

    public TreePlan Folder(ulong id, ulong parent, string name) => Inode(id, parent, name, 0x41ED, id, null, 0).Named(parent, name, id, 4);

    public TreePlan File(ulong id, ulong parent, string name, ulong size, ulong block, ulong? streamId = null, uint flags = 0) =>
        Inode(id, parent, name, 0x81A4, streamId ?? id, size, flags).Named(parent, name, id, 8).Extent(streamId ?? id, 0, size, block);

    public TreePlan Inode(ulong id, ulong parent, string name, ushort mode, ulong streamId, ulong? size, uint flags)
    {
        byte[] text = [.. Encoding.UTF8.GetBytes(name), 0];
        int fields = size is null ? 1 : 2, nameLength = (text.Length + 7) / 8 * 8;
        var value = new byte[92 + 4 + (4 * fields) + nameLength + (size is null ? 0 : 40)];
        U64(value, 0, parent);
        U64(value, 8, streamId);
        U64(value, 24, 1_764_072_000_000_000_000);
        BinaryPrimitives.WriteInt32LittleEndian(value.AsSpan(56), 1);
        BinaryPrimitives.WriteUInt32LittleEndian(value.AsSpan(68), flags);
        BinaryPrimitives.WriteUInt16LittleEndian(value.AsSpan(80), mode);
        value[92] = (byte)fields;
        value[96] = 4;
        BinaryPrimitives.WriteUInt16LittleEndian(value.AsSpan(98), (ushort)text.Length);
        text.CopyTo(value, 96 + (4 * fields));
        if (size is { } bytes)
        {
            value[100] = 8;
            BinaryPrimitives.WriteUInt16LittleEndian(value.AsSpan(102), 40);
            U64(value, 104 + nameLength, bytes);
        }

        return Add(Key(id, 3), value);
    }

    public TreePlan Named(ulong parent, string name, ulong id, ushort type)
    {
        byte[] text = [.. Encoding.UTF8.GetBytes(name), 0];
        var value = new byte[18];
        U64(value, 0, id);
        BinaryPrimitives.WriteUInt16LittleEndian(value.AsSpan(16), type);
        return Add([.. Key(parent, 9), (byte)text.Length, (byte)(text.Length >> 8), .. text], value);
    }

    /// <summary>One stretch of a stream; block 0 stands for zeros.</summary>
    public TreePlan Extent(ulong streamId, ulong at, ulong length, ulong block)
    {
        var value = new byte[24];
        U64(value, 0, length);
        U64(value, 8, block);
        return Add(Key(streamId, 8, at), value);
    }

    public TreePlan Attribute(ulong id, string name, byte[] data)
    {
        byte[] text = [.. Encoding.UTF8.GetBytes(name), 0];
        return Add([.. Key(id, 4), (byte)text.Length, (byte)(text.Length >> 8), .. text], [2, 0, (byte)data.Length, (byte)(data.Length >> 8), .. data]);
    }

    /// <summary>One of several names of a file.</summary>
    public TreePlan Sibling(ulong id, ulong siblingId, ulong parent, string name)
    {
        byte[] text = [.. Encoding.UTF8.GetBytes(name), 0];
        return Add(Key(id, 5, siblingId), [.. BitConverter.GetBytes(parent), (byte)text.Length, (byte)(text.Length >> 8), .. text]);
    }

    /// <summary>An attribute whose bytes lie in a stream of their own.</summary>
    public TreePlan LongAttribute(ulong id, string name, ulong streamId, ulong size, ulong block)
    {
        byte[] text = [.. Encoding.UTF8.GetBytes(name), 0], value = new byte[52];
        value[0] = 1;
        value[2] = 48;
        U64(value, 4, streamId);
        U64(value, 12, size);
        return Add([.. Key(id, 4), (byte)text.Length, (byte)(text.Length >> 8), .. text], value).Extent(streamId, 0, size, block);
    }

    private TreePlan Add(byte[] key, byte[] value)
    {
        _records.Add((key, value));
        return this;
    }

    internal static byte[] Key(ulong id, byte type, ulong? part = null)
    {
        var key = new byte[part is null ? 8 : 16];
        U64(key, 0, id | ((ulong)type << 60));
        if (part is { } more)
            U64(key, 8, more);
        return key;
    }

    internal static void U64(Span<byte> at, int offset, ulong value) => BinaryPrimitives.WriteUInt64LittleEndian(at[offset..], value);

    private static int Compare(byte[] left, byte[] right)
    {
        (ulong a, ulong b) = (BitConverter.ToUInt64(left), BitConverter.ToUInt64(right));
        int order = (a & (ulong.MaxValue >> 4)).CompareTo(b & (ulong.MaxValue >> 4));
        if (order == 0)
            order = a.CompareTo(b);
        if (order != 0 || left.Length < 16 || right.Length < 16 || a >> 60 != 8)
            return order != 0 ? order : left.AsSpan(8).SequenceCompareTo(right.AsSpan(8));
        return BitConverter.ToUInt64(left, 8).CompareTo(BitConverter.ToUInt64(right, 8));
    }
}
