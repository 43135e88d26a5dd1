using System.Buffers.Binary;

namespace Turnstone.Volumes.Apfs;

/// <summary>Where an object of memory was put when the checkpoint was taken.</summary>
internal readonly record struct EphemeralPlace(ulong Address, uint Bytes);

/// <summary>One consistent state of the container.</summary>
/// <param name="Superblock">What it starts from.</param>
/// <param name="Address">Where that was read.</param>
/// <param name="Trust">Whether it is the newest state, and whether that is certain.</param>
internal sealed record Checkpoint(ContainerSuperblock Superblock, ulong Address, Trust Trust)
{
    private const int Count = 36;
    private const int Mappings = 40;
    private const int MappingLength = 40;
    private const int Size = 8;
    private const int Oid = 24;
    private const int Paddr = 32;

    public ulong Xid => Superblock.Xid;

    /// <summary>Places of the objects that live in memory: the space manager and its free queues.</summary>
    /// <remarks>Layout: Apple, Apple File System Reference, 2020, checkpoint_map_phys_t (from memory).</remarks>
    public Dictionary<ulong, EphemeralPlace> Ephemerals(CheckpointRing ring)
    {
        var places = new Dictionary<ulong, EphemeralPlace>();
        for (uint i = 0; i + 1 < Math.Min(Superblock.DescriptorLength, ring.Count); i++)
        {
            if (ring.Read((Superblock.DescriptorIndex + (ulong)i) % ring.Count).OrNone is { Header.Kind: ObjectKind.CheckpointMap } map && map.Header.Xid == Xid)
                Take(map.Bytes.Span, places);
        }

        return places;
    }

    private static void Take(ReadOnlySpan<byte> map, Dictionary<ulong, EphemeralPlace> places)
    {
        uint count = Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(map[Count..]), (uint)((map.Length - Mappings) / MappingLength));
        for (int i = 0; i < count; i++)
        {
            ReadOnlySpan<byte> entry = map[(Mappings + (i * MappingLength))..];
            places[BinaryPrimitives.ReadUInt64LittleEndian(entry[Oid..])] = new EphemeralPlace(
                BinaryPrimitives.ReadUInt64LittleEndian(entry[Paddr..]), BinaryPrimitives.ReadUInt32LittleEndian(entry[Size..]));
        }
    }
}
