using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>A block of the journal's own.</summary>
internal readonly record struct JournalBlock(uint Kind, uint Sequence, byte[] Data);

/// <summary>One line of a descriptor: which block of the volume the next block of the journal is a state of.</summary>
internal readonly record struct JournalTag(long Block, bool IsEscaped);

/// <summary>The blocks of a journal in order, from its superblock's layout.</summary>
internal sealed class JournalRing
{
    public const uint DescriptorBlock = 1, CommitBlock = 2, RevokeBlock = 5;

    private const int HeaderSize = 12, FlagEscaped = 1, FlagSameUuid = 2, FlagLast = 8;
    private const uint Wide = 0x2, SumsV2 = 0x8, SumsV3 = 0x10, FastCommits = 0x20;

    private readonly PartView _part;
    private readonly int _blockSize;
    private readonly IReadOnlyList<Extent> _extents;
    private readonly long[] _starts;
    private uint _incompatible;
    private uint _seed;

    private JournalRing(PartView part, int blockSize, IReadOnlyList<Extent> extents)
    {
        _part = part;
        _blockSize = blockSize;
        _extents = extents;
        _starts = new long[extents.Count + 1];
        for (int i = 0; i < extents.Count; i++)
            _starts[i + 1] = _starts[i] + (extents[i].Length / blockSize);
    }

    public long First { get; private set; }

    /// <summary>The block after the last one of the ring.</summary>
    public long End { get; private set; }

    /// <summary>Where the oldest transaction starts that is not wholly home; 0 where all are.</summary>
    public long Start { get; private set; }

    public uint Sequence { get; private set; }

    public bool HasFastCommits => (_incompatible & FastCommits) != 0;

    private bool HasSums => (_incompatible & (SumsV2 | SumsV3)) != 0;

    private int TagSize => (_incompatible & SumsV3) != 0 ? 16 : 8 + ((_incompatible & Wide) != 0 ? 4 : 0) + ((_incompatible & SumsV2) != 0 ? 2 : 0);

    /// <summary>Opens the ring that lies in these extents of the journal's inode; null where its superblock is not held or makes no sense.</summary>
    public static JournalRing? Open(PartView part, ExtSuperblock super, IReadOnlyList<Extent> extents)
    {
        var ring = new JournalRing(part, super.BlockSize, extents);
        var first = new byte[1024];
        return ring.PlaceOf(0) is long place && part.TryRead(place * super.BlockSize, first) && ring.Take(first) ? ring : null;
    }

    /// <summary>Block of the volume where a block of the journal lies.</summary>
    public long? PlaceOf(long at)
    {
        int i = Array.BinarySearch(_starts, at);
        i = i < 0 ? ~i - 1 : i;
        return i >= 0 && i < _extents.Count && _extents[i].Kind == ExtentKind.Stored
            ? ((_extents[i].Offset - _part.Part.Offset) / _blockSize) + (at - _starts[i]) : null;
    }

    public long Next(long at) => at + 1 < End ? at + 1 : First;

    public bool IsHeld(long at) => PlaceOf(at) is long place && !_part.Missing(new ByteRange(place * _blockSize, _blockSize)).Any();

    /// <summary>Reads a block if it is one of the journal's own; null also where it is not held.</summary>
    public JournalBlock? ReadOwn(long at)
    {
        Span<byte> header = stackalloc byte[HeaderSize];
        if (PlaceOf(at) is not long place || !_part.TryRead(place * _blockSize, header) || !header.StartsWith(JournalCopy.Magic))
            return null;
        var data = new byte[_blockSize];
        if (!_part.TryRead(place * _blockSize, data))
            return null;
        uint kind = U32(data, 4);
        bool tailed = HasSums && kind is DescriptorBlock or RevokeBlock;
        return tailed && Sum(data, _blockSize - 4) != U32(data, _blockSize - 4) ? null : new JournalBlock(kind, U32(data, 8), data);
    }

    /// <summary>Whether a commit block's checksum fits; true where the journal keeps none.</summary>
    public bool CommitFits(JournalBlock block) => !HasSums || Sum(block.Data, 16) == U32(block.Data, 16);

    public IEnumerable<JournalTag> Tags(JournalBlock block)
    {
        // The flags are four bytes in the third form and two before it; those that matter stand at the same place.
        int end = _blockSize - (HasSums ? 4 : 0);
        for (int at = HeaderSize; at + TagSize <= end;)
        {
            int flags = BinaryPrimitives.ReadUInt16BigEndian(block.Data.AsSpan(at + 6));
            long high = (_incompatible & Wide) != 0 ? U32(block.Data, at + 8) : 0;
            yield return new JournalTag(U32(block.Data, at) + (high << 32), (flags & FlagEscaped) != 0);
            if ((flags & FlagLast) != 0)
                yield break;
            at += TagSize + ((flags & FlagSameUuid) != 0 ? 0 : 16);
        }
    }

    public IEnumerable<long> Revoked(JournalBlock block)
    {
        int size = (_incompatible & Wide) != 0 ? 8 : 4;
        long end = Math.Min(U32(block.Data, HeaderSize), _blockSize - (HasSums ? 4 : 0));
        for (int at = HeaderSize + 4; at + size <= end; at += size)
            yield return size == 8 ? (long)(BinaryPrimitives.ReadUInt64BigEndian(block.Data.AsSpan(at)) & long.MaxValue) : U32(block.Data, at);
    }

    private bool Take(byte[] first)
    {
        if (!first.AsSpan().StartsWith(JournalCopy.Magic) || U32(first, 4) is not (3 or 4) || U32(first, 0xC) != _blockSize)
            return false;
        bool hasFeatures = U32(first, 4) == 4;
        _incompatible = hasFeatures ? U32(first, 0x28) : 0;
        _seed = ExtSums.Crc32C(ExtSums.Start, first.AsSpan(0x30, 16));
        long fast = HasFastCommits ? U32(first, 0x54) is 0 ? 256 : U32(first, 0x54) : 0;
        First = Math.Max(1, U32(first, 0x14));
        End = Math.Min(Math.Min(U32(first, 0x10), _starts[^1]), _part.Length / _blockSize) - fast;
        Sequence = U32(first, 0x18);
        Start = U32(first, 0x1C);
        return First < End && Start < End;
    }

    private uint Sum(byte[] data, int blankAt)
    {
        uint sum = ExtSums.Crc32C(_seed, data.AsSpan(0, blankAt));
        sum = ExtSums.Crc32C(sum, [0, 0, 0, 0]);
        return ExtSums.Crc32C(sum, data.AsSpan(blankAt + 4));
    }

    private static uint U32(byte[] data, int at) => BinaryPrimitives.ReadUInt32BigEndian(data.AsSpan(at));
}
