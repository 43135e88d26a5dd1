using System.Buffers.Binary;
using System.Text;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>A volume under construction.</summary>
/// <param name="Name">Its label.</param>
/// <param name="Tree">What stands in its leaf.</param>
/// <param name="IsEncrypted">Whether it says that it is encrypted.</param>
/// <param name="LostBefore">With it the tree has two leaves: the given one, which begins with this object, and one before it that is not there.</param>
internal sealed record VolumePlan(string Name, TreePlan Tree, bool IsEncrypted = false, ulong? LostBefore = null);

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
        if (plan.LostBefore is not { } start)
        {
            Map(Block(1), first + 1, Block(2), [(root, (ulong)first + 3)]);
            Node(Block(3), root, 2, 0xE, [.. plan.Tree.Records], isFixed: false);
            return;
        }

        Map(Block(1), first + 1, Block(2), [(root, (ulong)first + 4), (root + 1, (ulong)first + 5), (root + 2, (ulong)first + 3)]);
        Node(Block(3), root + 2, 3, 0xE, [.. plan.Tree.Records], isFixed: false);
        Node(Block(4), root, 2, 0xE, [(TreePlan.Key(1, 9), BitConverter.GetBytes(root + 1)), (TreePlan.Key(start, 3), BitConverter.GetBytes(root + 2))], isFixed: false, level: 1);
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

    private static void Node(Span<byte> block, ulong oid, uint type, uint subtype, IReadOnlyList<(byte[] Key, byte[] Value)> records, bool isFixed, ushort level = 0)
    {
        Header(block, oid, type, subtype);
        bool isRoot = (type & 0xFFFF) == 2;
        int entry = isFixed ? 4 : 8, keys = 56 + (records.Count * entry), key = keys, end = block.Length - (isRoot ? 40 : 0), value = end;
        BinaryPrimitives.WriteUInt16LittleEndian(block[32..], (ushort)((isRoot ? 1 : 0) | (level == 0 ? 2 : 0) | (isFixed ? 4 : 0)));
        BinaryPrimitives.WriteUInt16LittleEndian(block[34..], level);
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
