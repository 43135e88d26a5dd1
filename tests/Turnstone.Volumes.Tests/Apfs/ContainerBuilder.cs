using System.Buffers.Binary;
using System.Text;
using Turnstone.Volumes.Apfs;

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

/// <summary>A volume under construction.</summary>
internal sealed record VolumePlan(string Name, TreePlan Tree, bool IsEncrypted = false);

/// <summary>Writes small containers with what the outside volumes lack: several volumes, other block sizes, flags.</summary>
internal static class ContainerBuilder
{
    public const int Blocks = 96;
    public const ulong Xid = 7;

    private const int Ring = 1;
    private const int RingBlocks = 8;
    private const int ContainerMap = 16;
    private const int FirstVolume = 20;
    private const int VolumeBlocks = 8;

    /// <summary>Block of a volume's file-tree leaf.</summary>
    public static int LeafOf(int volume) => FirstVolume + (volume * VolumeBlocks) + 3;

    public static byte[] Build(int blockBytes, IReadOnlyList<VolumePlan> volumes, ulong incompatible = 2)
    {
        var image = new byte[Blocks * blockBytes];
        Span<byte> Block(int i) => image.AsSpan(i * blockBytes, blockBytes);
        byte[] superblock = Superblock(blockBytes, volumes.Count, incompatible);
        superblock.CopyTo(Block(0));
        superblock.CopyTo(Block(Ring + 1));
        Header(Block(Ring), Ring, 0x4000_000C, 0);
        Seal(Block(Ring));
        Map(Block(ContainerMap), ContainerMap, Block(ContainerMap + 1), volumes.Select((_, i) => (VolumeOid(i), (ulong)(FirstVolume + (i * VolumeBlocks)))));
        for (int i = 0; i < volumes.Count; i++)
            Volume(image, blockBytes, i, volumes[i]);
        return image;
    }

    /// <summary>Makes the block's checksum fit again.</summary>
    public static void Seal(Span<byte> block) => TreePlan.U64(block, 0, ObjectHeader.Fletcher64(block));

    private static ulong VolumeOid(int i) => 0x400 + (ulong)(i * 16);

    private static byte[] Superblock(int blockBytes, int volumes, ulong incompatible)
    {
        var block = new byte[blockBytes];
        Header(block, 1, 0x8000_0001, 0);
        "NXSB"u8.CopyTo(block.AsSpan(32));
        BinaryPrimitives.WriteInt32LittleEndian(block.AsSpan(36), blockBytes);
        TreePlan.U64(block, 40, Blocks);
        TreePlan.U64(block, 64, incompatible);
        block[72] = 0xA1;
        BinaryPrimitives.WriteInt32LittleEndian(block.AsSpan(104), RingBlocks);
        TreePlan.U64(block, 112, Ring);
        BinaryPrimitives.WriteInt32LittleEndian(block.AsSpan(140), 2);
        TreePlan.U64(block, 160, ContainerMap);
        BinaryPrimitives.WriteInt32LittleEndian(block.AsSpan(180), 100);
        for (int i = 0; i < volumes; i++)
            TreePlan.U64(block, 184 + (8 * i), VolumeOid(i));
        Seal(block);
        return block;
    }

    private static void Volume(byte[] image, int blockBytes, int i, VolumePlan plan)
    {
        int first = FirstVolume + (i * VolumeBlocks);
        Span<byte> Block(int n) => image.AsSpan((first + n) * blockBytes, blockBytes);
        ulong root = VolumeOid(i) + 1;
        Header(Block(0), VolumeOid(i), 0xD, 0);
        "APSB"u8.CopyTo(Block(0)[32..]);
        TreePlan.U64(Block(0), 128, (ulong)first + 1);
        TreePlan.U64(Block(0), 136, root);
        TreePlan.U64(Block(0), 264, plan.IsEncrypted ? 0u : 1u);
        Block(0)[240] = (byte)(0xB1 + i);
        Encoding.UTF8.GetBytes(plan.Name).CopyTo(Block(0)[704..]);
        Seal(Block(0));
        Map(Block(1), first + 1, Block(2), [(root, (ulong)first + 3)]);
        Node(Block(3), root, 2, 0xE, [.. plan.Tree.Records], isFixed: false);
    }

    private static void Map(Span<byte> map, int address, Span<byte> tree, IEnumerable<(ulong Oid, ulong Address)> entries)
    {
        Header(map, (ulong)address, 0x4000_000B, 0);
        TreePlan.U64(map, 48, (ulong)address + 1);
        Seal(map);
        Node(tree, (ulong)address + 1, 0x4000_0002, 0xB, [.. entries.Select(MapRecord)], isFixed: true);
    }

    private static (byte[] Key, byte[] Value) MapRecord((ulong Oid, ulong Address) entry)
    {
        byte[] key = new byte[16], value = new byte[16];
        TreePlan.U64(key, 0, entry.Oid);
        TreePlan.U64(key, 8, Xid);
        TreePlan.U64(value, 8, entry.Address);
        return (key, value);
    }

    /// <summary>A root that is a leaf.</summary>
    private static void Node(Span<byte> block, ulong oid, uint type, uint subtype, IReadOnlyList<(byte[] Key, byte[] Value)> records, bool isFixed)
    {
        Header(block, oid, type, subtype);
        int entry = isFixed ? 4 : 8, keys = 56 + (records.Count * entry), key = keys, end = block.Length - 40, value = end;
        BinaryPrimitives.WriteUInt16LittleEndian(block[32..], (ushort)(isFixed ? 7 : 3));
        BinaryPrimitives.WriteInt32LittleEndian(block[36..], records.Count);
        BinaryPrimitives.WriteUInt16LittleEndian(block[42..], (ushort)(records.Count * entry));
        for (int i = 0; i < records.Count; i++)
        {
            records[i].Key.CopyTo(block[key..]);
            value -= records[i].Value.Length;
            records[i].Value.CopyTo(block[value..]);
            Span<byte> at = block[(56 + (i * entry))..];
            BinaryPrimitives.WriteUInt16LittleEndian(at, (ushort)(key - keys));
            BinaryPrimitives.WriteUInt16LittleEndian(at[(isFixed ? 2 : 4)..], (ushort)(end - value));
            if (!isFixed)
            {
                BinaryPrimitives.WriteUInt16LittleEndian(at[2..], (ushort)records[i].Key.Length);
                BinaryPrimitives.WriteUInt16LittleEndian(at[6..], (ushort)records[i].Value.Length);
            }

            key += records[i].Key.Length;
        }

        Seal(block);
    }

    private static void Header(Span<byte> block, ulong oid, uint type, uint subtype)
    {
        TreePlan.U64(block, 8, oid);
        TreePlan.U64(block, 16, Xid);
        BinaryPrimitives.WriteUInt32LittleEndian(block[24..], type);
        BinaryPrimitives.WriteUInt32LittleEndian(block[28..], subtype);
    }
}
