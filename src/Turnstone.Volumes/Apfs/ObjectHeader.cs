using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace Turnstone.Volumes.Apfs;

/// <summary>What an object is: the low half of its type field.</summary>
internal enum ObjectKind : ushort
{
    None = 0,
    ContainerSuperblock = 1,
    TreeRoot = 2,
    TreeNode = 3,
    SpaceManager = 5,
    ChunkAddresses = 6,
    ChunkInfo = 7,
    FreeQueue = 9,
    ObjectMap = 0xB,
    CheckpointMap = 0xC,
    VolumeSuperblock = 0xD,
    FileTree = 0xE,
    SnapshotTree = 0x10,
}

/// <summary>The 32 bytes at the head of every object, and the checksum that proves it.</summary>
/// <remarks>Layout and Fletcher-64: Apple, Apple File System Reference, 2020, 'Objects' (from memory).</remarks>
/// <param name="Oid">Object identifier; of a physical object its block address.</param>
/// <param name="Xid">Transaction in which this version was written.</param>
/// <param name="Type">Kind and storage flags.</param>
/// <param name="Subtype">Kind of the records in a tree's node.</param>
internal readonly record struct ObjectHeader(ulong Oid, ulong Xid, uint Type, uint Subtype)
{
    public const int Length = 32;

    private const int OOid = 8;
    private const int OXid = 16;
    private const int OType = 24;
    private const int OSubtype = 28;

    public ObjectKind Kind => (ObjectKind)(ushort)Type;

    public ObjectKind TreeOf => (ObjectKind)(ushort)Subtype;

    public bool IsTreeNode => Kind is ObjectKind.TreeRoot or ObjectKind.TreeNode;

    /// <summary>The header as it stands; proven by nothing until <see cref="IsProven"/> says so.</summary>
    public static ObjectHeader Read(ReadOnlySpan<byte> block) => new(
        BinaryPrimitives.ReadUInt64LittleEndian(block[OOid..]),
        BinaryPrimitives.ReadUInt64LittleEndian(block[OXid..]),
        BinaryPrimitives.ReadUInt32LittleEndian(block[OType..]),
        BinaryPrimitives.ReadUInt32LittleEndian(block[OSubtype..]));

    /// <summary>Whether the object's own checksum fits. A block of zeros fits too, so a kind is asked for as well.</summary>
    public static bool IsProven(ReadOnlySpan<byte> block) =>
        Read(block).Kind != ObjectKind.None && BinaryPrimitives.ReadUInt64LittleEndian(block) == Fletcher64(block);

    /// <summary>Fletcher's checksum over everything after the first 8 bytes.</summary>
    /// <param name="block">A whole object; at most 256 KiB, so that the sums cannot overflow before they are folded.</param>
    public static ulong Fletcher64(ReadOnlySpan<byte> block)
    {
        const ulong modulus = uint.MaxValue;
        ulong first = 0, second = 0;
        foreach (uint word in MemoryMarshal.Cast<byte, uint>(block[8..]))
        {
            first += BitConverter.IsLittleEndian ? word : BinaryPrimitives.ReverseEndianness(word);
            second += first;
        }

        ulong low = modulus - ((first + second) % modulus);
        return ((modulus - ((first + low) % modulus)) << 32) | low;
    }
}
