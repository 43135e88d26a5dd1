using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>One list of blocks in the ring.</summary>
/// <param name="Length">Bytes of the ring that it takes, with its blocks.</param>
/// <param name="Blocks">Where each belongs on the partition, its bytes, and where it lies in the ring (not wrapped).</param>
internal sealed record BlockList(long Length, IReadOnlyList<(long Target, int Length, long At)> Blocks);

/// <summary>The journal's bytes: a header, then a ring of block lists with their blocks behind them.</summary>
internal sealed class JournalRing
{
    private const uint Magic = 0x4A4E4C78, Order = 0x12345678;
    private const int StartAt = 8, EndAt = 16, SizeAt = 24, ListBytesAt = 32, SectorAt = 40, HeaderLength = 44;
    private const int InOtherDevice = 2, OffsetAt = 36, InfoSizeAt = 44, InfoLength = 52;
    private const int NumberAt = 2, UsedAt = 4, ChecksumAt = 8, BlocksAt = 16, BlockLength = 16, ListHeadLength = 32;
    private readonly ISectorView _volume;
    private readonly bool _little;
    private readonly long _start, _end;
    private readonly int _listBytes;

    private JournalRing(ISectorView volume, ByteRange place, ReadOnlySpan<byte> header, bool little)
    {
        (_volume, _little) = (volume, little);
        (_start, _end) = ((long)U64(header, StartAt), (long)U64(header, EndAt));
        SectorBytes = (int)Math.Min(U32(header, SectorAt), int.MaxValue);
        _listBytes = (int)Math.Min(U32(header, ListBytesAt), int.MaxValue);
        Place = new ByteRange(place.Offset, Math.Min(place.Length, (long)Math.Min(U64(header, SizeAt), long.MaxValue)));
    }

    public ByteRange Place { get; }

    public int SectorBytes { get; }

    /// <summary>Bytes of the ring that are not yet written to their places.</summary>
    public long WaitingBytes => _end >= _start ? _end - _start : _end - _start + Place.Length - SectorBytes;

    private bool IsSane => SectorBytes is 512 or 1024 or 2048 or 4096 && _listBytes is >= 512 and <= 1 << 20 && _listBytes % SectorBytes == 0
        && Place.Length > SectorBytes + (long)_listBytes && InRing(_start) && InRing(_end);

    public static JournalRing? Find(ISectorView volume, VolumeHeader header)
    {
        Span<byte> info = stackalloc byte[InfoLength], head = stackalloc byte[HeaderLength];
        if (!volume.TryRead((long)header.JournalInfoBlock * header.Shape.BlockBytes, info) || RingIn(info, header.Shape) is not { } place || !volume.TryRead(place.Offset, head))
            return null;
        bool little = BinaryPrimitives.ReadUInt32LittleEndian(head[4..]) == Order;
        uint magic = little ? BinaryPrimitives.ReadUInt32LittleEndian(head) : BinaryPrimitives.ReadUInt32BigEndian(head);
        var ring = new JournalRing(volume, place, head, little);
        return magic == Magic && ring.IsSane ? ring : null;
    }

    /// <summary>Lists whose blocks may not have been written to their places, oldest first.</summary>
    public IEnumerable<BlockList> Waiting()
    {
        long at = 0;
        while (at < WaitingBytes && ListAt(_start + at) is { } list)
        {
            yield return list;
            at += list.Length;
        }
    }

    /// <summary>All lists that still lie in the ring; the oldest follow the end of what is waiting.</summary>
    public IEnumerable<BlockList> OldestFirst()
    {
        long length = Place.Length - SectorBytes;
        for (long at = 0; at < length;)
        {
            BlockList? list = ListAt(_end + at);
            if (list is not null)
                yield return list;
            at += list?.Length ?? Math.Max(SectorBytes, NotHeldFrom(Wrap(_end + at)));
        }
    }

    /// <summary>A place in the ring that may lie past its end, as one inside it; the first sector is the header's.</summary>
    public long Wrap(long at) => SectorBytes + ((at - SectorBytes) % (Place.Length - SectorBytes));

    /// <summary>How many bytes from a place in the ring are not held: a ring that is only claimed costs no time.</summary>
    private long NotHeldFrom(long at)
    {
        ByteRange hole = _volume.Missing(ByteRange.Between(Place.Offset + at, Place.End)).FirstOrDefault();
        return hole.Offset == Place.Offset + at ? (hole.Length + SectorBytes - 1) / SectorBytes * SectorBytes : 0;
    }

    private static ByteRange? RingIn(ReadOnlySpan<byte> info, VolumeShape shape)
    {
        ulong offset = info.U64(OffsetAt), size = info.U64(InfoSizeAt);
        bool inside = offset < (ulong)shape.Bytes && size <= (ulong)shape.Bytes - offset;
        return inside && (info.U32(0) & InOtherDevice) == 0 ? new ByteRange((long)offset, (long)size) : null;
    }

    private bool InRing(long at) => SectorBytes <= at && at <= Place.Length && at % SectorBytes == 0;

    private BlockList? ListAt(long at)
    {
        Span<byte> head = stackalloc byte[ListHeadLength];
        if (!TryRead(at, head) || !IsList(head))
            return null;
        byte[] list = new byte[_listBytes];
        return TryRead(at, list) ? Parse(list, at) : null;
    }

    private bool IsList(ReadOnlySpan<byte> head)
    {
        int number = U16(head, NumberAt), max = U16(head, 0);
        long used = U32(head, UsedAt);
        bool fits = number > 0 && number <= max && ListHeadLength + ((max - 1) * BlockLength) <= _listBytes && used >= _listBytes && used <= Place.Length;
        return fits && U32(head, ChecksumAt) == Checksum(head);
    }

    private BlockList? Parse(ReadOnlySpan<byte> list, long at)
    {
        int number = U16(list, NumberAt);
        long used = U32(list, UsedAt), data = list.Length;
        var blocks = new List<(long, int, long)>(number);
        // the first place of the list belongs to the list itself
        for (int i = 1; i < number; i++)
        {
            ReadOnlySpan<byte> block = list[(BlocksAt + (i * BlockLength))..];
            (ulong sector, uint length) = (U64(block, 0), U32(block, 8));
            if (length % SectorBytes != 0 || data + length > used)
                return null;
            // a block that was dropped from its list keeps its bytes there and has no sector
            if (sector <= (ulong)(long.MaxValue / SectorBytes))
                blocks.Add(((long)sector * SectorBytes, (int)length, at + data));
            data += length;
        }

        return new BlockList(Math.Max(used / SectorBytes * SectorBytes, SectorBytes), blocks);
    }

    private static uint Checksum(ReadOnlySpan<byte> head)
    {
        uint sum = 0;
        for (int i = 0; i < ListHeadLength; i++)
            sum = (sum << 8) ^ (sum + (i is >= ChecksumAt and < ChecksumAt + 4 ? 0u : head[i]));
        return ~sum;
    }

    private bool TryRead(long at, Span<byte> into)
    {
        at = Wrap(at);
        int first = (int)Math.Min(into.Length, Place.Length - at);
        return _volume.TryRead(Place.Offset + at, into[..first])
            && (first == into.Length || _volume.TryRead(Place.Offset + SectorBytes, into[first..]));
    }

    private ushort U16(ReadOnlySpan<byte> bytes, int at) => _little ? BinaryPrimitives.ReadUInt16LittleEndian(bytes[at..]) : bytes.U16(at);

    private uint U32(ReadOnlySpan<byte> bytes, int at) => _little ? BinaryPrimitives.ReadUInt32LittleEndian(bytes[at..]) : bytes.U32(at);

    private ulong U64(ReadOnlySpan<byte> bytes, int at) => _little ? BinaryPrimitives.ReadUInt64LittleEndian(bytes[at..]) : bytes.U64(at);
}
