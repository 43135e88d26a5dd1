using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Which blocks are in use, from the space manager's bitmaps.</summary>
/// <remarks>Layout: Apple, Apple File System Reference, 2020, spaceman_phys_t, chunk_info_block_t, cib_addr_block_t (from memory).</remarks>
internal sealed class SpaceManager
{
    private const int BlocksPerChunk = 36;
    private const int MainDevice = 48;
    private const int CibCount = 16;
    private const int CabCount = 20;
    private const int AddressOffset = 32;
    private const int MainFreeQueue = 248;
    private const int ListIndex = 32;
    private const int ListCount = 36;
    private const int List = 40;
    private const int ChunkLength = 32;
    private const int ChunkBitmap = 24;
    private const uint CountMask = 0xF_FFFF;

    private readonly ContainerBlocks _blocks;
    private readonly Dictionary<ulong, ChunkBits> _chunks = [];
    private readonly HashSet<ulong> _ownBlocks = [];
    private readonly RecentlyUsed<ulong, byte[]> _bitmaps = new(64);
    private readonly uint _blocksPerChunk = 1;

    private SpaceManager(ContainerBlocks blocks) => _blocks = blocks;

    private SpaceManager(ContainerBlocks blocks, ReadOnlySpan<byte> head, FreeQueue queue)
        : this(blocks)
    {
        Queue = queue;
        _blocksPerChunk = Math.Max(1, BinaryPrimitives.ReadUInt32LittleEndian(head[BlocksPerChunk..]));
    }

    private readonly record struct ChunkBits(uint Count, ulong Bitmap);

    /// <summary>Blocks that were given up in the latest transactions and still stand as used.</summary>
    public FreeQueue Queue { get; } = FreeQueue.Unknown;

    /// <summary>Single blocks that list or hold bitmaps.</summary>
    public IReadOnlyCollection<ulong> OwnBlocks => _ownBlocks;

    /// <summary>What can be had of the space manager of one checkpoint; knows nothing where nothing is held.</summary>
    public static SpaceManager Read(ContainerBlocks blocks, Checkpoint checkpoint, CheckpointRing ring)
    {
        Dictionary<ulong, EphemeralPlace> places = checkpoint.Ephemerals(ring);
        if (!places.TryGetValue(checkpoint.Superblock.SpaceManagerOid, out EphemeralPlace place)
            || blocks.Read(place.Address, place.Bytes).OrNone is not { Header.Kind: ObjectKind.SpaceManager } head
            || head.Header.Oid != checkpoint.Superblock.SpaceManagerOid)
            return new SpaceManager(blocks);
        var queue = FreeQueue.Read(blocks, places, U64(head.Bytes.Span, MainFreeQueue));
        var manager = new SpaceManager(blocks, head.Bytes.Span, queue);
        manager.ReadDevice(head.Bytes.Span);
        return manager;
    }

    /// <summary>Whether a block is in use; unknown where the bitmap that tells is not held.</summary>
    public Usage At(ulong address)
    {
        if (!_chunks.TryGetValue(address / _blocksPerChunk, out ChunkBits chunk) || address % _blocksPerChunk >= chunk.Count)
            return Usage.Unknown;
        if (chunk.Bitmap == 0)
            return Usage.Free;
        return Bitmap(chunk.Bitmap) is { } bits ? Bit(bits, address % _blocksPerChunk) : Usage.Unknown;
    }

    /// <summary>Whether a block belongs to somebody now: in use, and not merely waiting to be given up.</summary>
    public Usage Owned(ulong address) => At(address) switch
    {
        Usage.Used => Queue.Holds(address) ? Usage.Free : Queue.IsComplete ? Usage.Used : Usage.Unknown,
        Usage.Free => Usage.Free,
        Usage.Unknown => Usage.Unknown,
    };

    /// <summary>Stretches of known use in ascending order.</summary>
    public IEnumerable<UsageRun> Runs()
    {
        foreach (ulong chunk in _chunks.Keys.Order())
        {
            ulong start = chunk * _blocksPerChunk;
            byte[]? bits = _chunks[chunk].Bitmap == 0 ? [] : Bitmap(_chunks[chunk].Bitmap);
            if (bits is null || !_blocks.Contains(start, _chunks[chunk].Count))
                continue;
            foreach ((uint from, uint end, Usage usage) in Stretches(bits, _chunks[chunk].Count))
                yield return new UsageRun(_blocks.Place(start + from, end - from), usage);
        }
    }

    private static IEnumerable<(uint From, uint End, Usage Usage)> Stretches(byte[] bits, uint count)
    {
        for (uint from = 0, end; from < count; from = end)
        {
            Usage usage = Bit(bits, from);
            end = EndOf(bits, from, count, usage);
            yield return (from, end, usage);
        }
    }

    /// <summary>Where the stretch of one use ends; whole bytes of it are passed over at once.</summary>
    private static uint EndOf(byte[] bits, uint from, uint count, Usage usage)
    {
        if (bits.Length == 0)
            return count;
        byte full = usage == Usage.Used ? byte.MaxValue : byte.MinValue;
        uint end = from + 1;
        while (end < count && Bit(bits, end) == usage)
            end += end % 8 == 0 && count - end >= 8 && bits[end / 8] == full ? 8u : 1u;
        return end;
    }

    private static Usage Bit(byte[] bits, ulong i) =>
        bits.Length > 0 && (bits[i / 8] >> (int)(i % 8) & 1) != 0 ? Usage.Used : Usage.Free;

    private byte[]? Bitmap(ulong address)
    {
        if (_bitmaps.TryGet(address, out byte[]? known))
            return known;
        var bits = new byte[_blocks.BlockBytes];
        return _blocks.TryReadPlain(address, bits) ? _bitmaps.Keep(address, bits) : null;
    }

    private void ReadDevice(ReadOnlySpan<byte> head)
    {
        uint cabs = BinaryPrimitives.ReadUInt32LittleEndian(head[(MainDevice + CabCount)..]);
        uint listed = cabs > 0 ? cabs : BinaryPrimitives.ReadUInt32LittleEndian(head[(MainDevice + CibCount)..]);
        uint offset = BinaryPrimitives.ReadUInt32LittleEndian(head[(MainDevice + AddressOffset)..]);
        for (uint i = 0; i < listed && offset + (8 * ((ulong)i + 1)) <= (ulong)head.Length; i++)
        {
            ulong address = U64(head, (int)(offset + (8 * i)));
            if (cabs > 0)
                ReadAddresses(address);
            else
                ReadChunks(address);
        }
    }

    private void ReadAddresses(ulong address)
    {
        if (!_ownBlocks.Add(address) || _blocks.Read(address).OrNone is not { Header.Kind: ObjectKind.ChunkAddresses } list)
            return;
        ReadOnlySpan<byte> block = list.Bytes.Span;
        uint count = Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(block[ListCount..]), (uint)((block.Length - List) / 8));
        for (int i = 0; i < count; i++)
            ReadChunks(U64(block, List + (8 * i)));
    }

    private void ReadChunks(ulong address)
    {
        if (!_ownBlocks.Add(address) || _blocks.Read(address).OrNone is not { Header.Kind: ObjectKind.ChunkInfo } list)
            return;
        ReadOnlySpan<byte> block = list.Bytes.Span;
        int most = (block.Length - List) / ChunkLength;
        uint count = Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(block[ListCount..]), (uint)most);
        for (int i = 0; i < count; i++)
            AddChunk(block[(List + (i * ChunkLength))..], ((ulong)BinaryPrimitives.ReadUInt32LittleEndian(block[ListIndex..]) * (ulong)most) + (ulong)i);
    }

    private void AddChunk(ReadOnlySpan<byte> entry, ulong chunk)
    {
        uint count = Math.Min(BinaryPrimitives.ReadUInt32LittleEndian(entry[16..]) & CountMask, Math.Min(_blocksPerChunk, 8 * (uint)_blocks.BlockBytes));
        ulong bitmap = U64(entry, ChunkBitmap);
        // Two chunks never share a bitmap: whoever comes second is wrong.
        if (chunk <= _blocks.Count / _blocksPerChunk && (bitmap == 0 || _ownBlocks.Add(bitmap)))
            _chunks[chunk] = new ChunkBits(count, bitmap);
    }

    private static ulong U64(ReadOnlySpan<byte> block, int at) => BinaryPrimitives.ReadUInt64LittleEndian(block[at..]);
}
