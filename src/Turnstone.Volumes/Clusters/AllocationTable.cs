using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>Width of one entry of the file allocation table.</summary>
internal enum TableWidth
{
    Fat12,
    Fat16,
    Fat32,
    ExFat,
}

/// <summary>What the table says of one cluster.</summary>
internal enum LinkKind
{
    NotHeld,
    Free,
    Next,
    End,
    Bad,
    Damaged,
}

/// <summary>One entry of the table; <paramref name="Next"/> has a meaning only for <see cref="LinkKind.Next"/>.</summary>
internal readonly record struct Link(LinkKind Kind, uint Next);

/// <summary>Where the copies of the table lie and how an entry is read.</summary>
/// <param name="Width">Width of an entry.</param>
/// <param name="Copies">Places of the copies in the volume, the one to believe first in front.</param>
/// <param name="Heap">The clusters that it tells of.</param>
internal sealed record TableLayout(TableWidth Width, IReadOnlyList<ByteRange> Copies, ClusterHeap Heap)
{
    /// <summary>Bytes of the table that stand for the clusters that exist.</summary>
    public long UsedBytes => Width switch
    {
        TableWidth.Fat12 => ((Heap.Count + 2L) * 3 / 2) + ((Heap.Count + 2L) * 3 % 2),
        TableWidth.Fat16 => (Heap.Count + 2L) * 2,
        TableWidth.Fat32 or TableWidth.ExFat => (Heap.Count + 2L) * 4,
    };

    /// <summary>Bytes to read for one entry; those of 12 bits share a byte with their neighbour.</summary>
    public int EntryBytes => Width is TableWidth.Fat12 or TableWidth.Fat16 ? 2 : 4;

    /// <summary>Byte of the table at which a cluster's entry starts.</summary>
    public long EntryAt(uint cluster) => Width == TableWidth.Fat12 ? cluster * 3L / 2 : (long)cluster * EntryBytes;

    /// <summary>The last cluster whose entry starts at that byte of the table or before it.</summary>
    public long ClusterAt(long tableByte) => Width == TableWidth.Fat12 ? ((tableByte * 2) + 1) / 3 : tableByte / EntryBytes;

    /// <summary>The number that an entry's bytes hold.</summary>
    public uint Raw(uint cluster, ReadOnlySpan<byte> bytes) => Width switch
    {
        TableWidth.Fat12 => (uint)(BinaryPrimitives.ReadUInt16LittleEndian(bytes) >> (cluster % 2 == 0 ? 0 : 4)) & 0xFFF,
        TableWidth.Fat16 => BinaryPrimitives.ReadUInt16LittleEndian(bytes),
        TableWidth.Fat32 => BinaryPrimitives.ReadUInt32LittleEndian(bytes) & 0x0FFF_FFFF,
        TableWidth.ExFat => BinaryPrimitives.ReadUInt32LittleEndian(bytes),
    };

    /// <summary>What a raw entry means.</summary>
    public Link Decode(uint raw)
    {
        uint end = Width switch { TableWidth.Fat12 => 0xFF8, TableWidth.Fat16 => 0xFFF8, TableWidth.Fat32 => 0x0FFF_FFF8, TableWidth.ExFat => 0xFFFF_FFF8 };
        if (raw == 0)
            return new Link(LinkKind.Free, 0);
        if (Heap.Holds(raw))
            return new Link(LinkKind.Next, raw);
        if (raw >= end)
            return new Link(LinkKind.End, 0);
        return new Link(raw == end - 1 ? LinkKind.Bad : LinkKind.Damaged, 0);
    }
}

/// <summary>The file allocation table, read link by link in one pass over a volume.</summary>
internal sealed class AllocationTable(ISectorView volume, TableLayout layout)
{
    private readonly WindowCache _cache = new(volume);

    public TableLayout Layout => layout;

    /// <summary>What a copy says of a cluster that the heap holds.</summary>
    public Link Read(uint cluster, int copy)
    {
        ByteRange place = layout.Copies[copy];
        Span<byte> bytes = stackalloc byte[4];
        bytes = bytes[..layout.EntryBytes];
        long at = layout.EntryAt(cluster);
        if (at + bytes.Length > place.Length)
            return new Link(LinkKind.Damaged, 0);
        return _cache.TryRead(place.Offset + at, bytes) ? layout.Decode(layout.Raw(cluster, bytes)) : new Link(LinkKind.NotHeld, 0);
    }

    /// <summary>What the preferred copy says, or the first of the others that is held.</summary>
    public Link ReadAny(uint cluster, int preferred)
    {
        Link link = Read(cluster, preferred);
        for (int copy = 0; link.Kind == LinkKind.NotHeld && copy < layout.Copies.Count; copy++)
            link = Read(cluster, copy);
        return link;
    }
}
