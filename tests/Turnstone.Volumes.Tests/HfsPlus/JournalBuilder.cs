using System.Buffers.Binary;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>Gives a volume a journal in blocks that are free there; Apple, Technical Note TN1150, 2004, "Journal" (from memory).</summary>
internal sealed class JournalBuilder(byte[] volume, bool bigEndian = false)
{
    public const int Sector = 512, ListBytes = 4096, RingBytes = 256 * 1024;
    private readonly int _info = FreeRun(volume, 4096 + RingBytes);
    private int _at = Sector;

    public int RingAt => _info + 4096;

    /// <summary>Where the next list goes; past the end of the ring it goes on behind the header.</summary>
    public JournalBuilder From(int at)
    {
        _at = at;
        return this;
    }

    /// <summary>One list of blocks, each with the offset in the volume where it belongs.</summary>
    public JournalBuilder Add(params (long Target, byte[] Bytes)[] blocks)
    {
        byte[] list = new byte[ListBytes];
        U16(list, 0, (ListBytes / 16) - 1);
        U16(list, 2, (ushort)(blocks.Length + 1));
        U32(list, 4, (uint)(ListBytes + blocks.Sum(b => b.Bytes.Length)));
        for (int i = 0; i < blocks.Length; i++)
        {
            U64(list, 32 + (16 * i), (ulong)(blocks[i].Target / Sector));
            U32(list, 40 + (16 * i), (uint)blocks[i].Bytes.Length);
        }

        U32(list, 8, Checksum(list.AsSpan(0, 32)));
        foreach (byte b in list.Concat(blocks.SelectMany(b => b.Bytes)))
        {
            volume[RingAt + _at] = b;
            _at = _at + 1 == RingBytes ? Sector : _at + 1;
        }

        return this;
    }

    /// <summary>Writes header and info block; what lies from <paramref name="start"/> to the last list is waiting.</summary>
    public byte[] Finish(int? start = null)
    {
        Span<byte> info = volume.AsSpan(_info, 4096), head = volume.AsSpan(RingAt, Sector);
        BinaryPrimitives.WriteUInt32BigEndian(info, 1);
        BinaryPrimitives.WriteUInt64BigEndian(info[36..], (ulong)RingAt);
        BinaryPrimitives.WriteUInt64BigEndian(info[44..], RingBytes);
        U32(head, 0, 0x4A4E4C78);
        U32(head, 4, 0x12345678);
        U64(head, 8, (ulong)(start ?? _at));
        U64(head, 16, (ulong)_at);
        U64(head, 24, RingBytes);
        U32(head, 32, ListBytes);
        U32(head, 40, Sector);
        foreach (int header in (int[])[1024, volume.Length - 1024])
        {
            volume[header + 6] |= 0x20;
            BinaryPrimitives.WriteUInt32BigEndian(volume.AsSpan(header + 12), (uint)(_info / 4096));
        }

        return volume;
    }

    private static int FreeRun(byte[] volume, int length) =>
        (int)Prebuilt.Open(new Bench.MemoryView(volume))!.Usage().First(r => r.Usage == Usage.Free && r.Place.Length >= length).Place.Offset;

    private static uint Checksum(ReadOnlySpan<byte> bytes)
    {
        uint sum = 0;
        foreach (byte b in bytes)
            sum = (sum << 8) ^ (sum + b);
        return ~sum;
    }

    private void U16(Span<byte> bytes, int at, ushort value) => BinaryPrimitives.WriteUInt16LittleEndian(bytes[at..], bigEndian ? BinaryPrimitives.ReverseEndianness(value) : value);

    private void U32(Span<byte> bytes, int at, uint value) => BinaryPrimitives.WriteUInt32LittleEndian(bytes[at..], bigEndian ? BinaryPrimitives.ReverseEndianness(value) : value);

    private void U64(Span<byte> bytes, int at, ulong value) => BinaryPrimitives.WriteUInt64LittleEndian(bytes[at..], bigEndian ? BinaryPrimitives.ReverseEndianness(value) : value);
}
