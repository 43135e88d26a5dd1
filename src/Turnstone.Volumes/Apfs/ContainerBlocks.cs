using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Where a container lies, how long its blocks are, and how many it says it has.</summary>
internal sealed record ContainerGround(PartView Part, int BlockBytes, ulong Blocks)
{
    /// <summary>Whole blocks of the container that lie in the part, in bytes.</summary>
    public long Length => (long)Math.Min((ulong)(Part.Length / BlockBytes), Blocks) * BlockBytes;
}

/// <summary>An object whose checksum fits, with the block that it was read from.</summary>
internal sealed record ApfsObject(ObjectHeader Header, ulong Address, ReadOnlyMemory<byte> Bytes);

/// <summary>The blocks of a container, as far as they are held.</summary>
/// <remarks>Lives for one call and one thread; keeps the objects that were asked for last.</remarks>
/// <param name="ground">Where the container lies.</param>
internal sealed class ContainerBlocks(ContainerGround ground)
{
    /// <summary>A space manager of the largest container that can be made stays far below it.</summary>
    private const int LongestObject = 256 << 10;

    private readonly RecentlyUsed<ulong, ApfsObject> _recent = new(capacity: (4 << 20) / ground.BlockBytes);

    public int BlockBytes => ground.BlockBytes;

    /// <summary>Blocks of the container whose bytes can be addressed.</summary>
    public ulong Count { get; } = Math.Min(ground.Blocks, (ulong)((long.MaxValue - ground.Part.Part.Offset) / ground.BlockBytes));

    /// <summary>Whether all these blocks lie in the container.</summary>
    public bool Contains(ulong address, ulong blocks) => address < Count && blocks <= Count - address;

    /// <summary>Where blocks of the container lie on the source.</summary>
    public ByteRange Place(ulong address, ulong blocks = 1) =>
        new(ground.Part.Part.Offset + ((long)address * BlockBytes), (long)blocks * BlockBytes);

    /// <summary>Blocks without a header: bitmaps.</summary>
    public bool TryReadPlain(ulong address, Span<byte> into) =>
        Contains(address, 1) && ground.Part.TryRead((long)address * BlockBytes, into);

    /// <summary>One object, its checksum proven.</summary>
    /// <param name="address">Its first block.</param>
    /// <param name="bytes">Its length; one block unless a checkpoint map says more.</param>
    public Parsed<ApfsObject> Read(ulong address, uint bytes = 0)
    {
        if (_recent.TryGet(address, out ApfsObject? known))
            return new Parsed<ApfsObject>.Value(known);
        long length = Math.Max(bytes, (uint)BlockBytes);
        if (length > LongestObject || length % BlockBytes != 0)
            return new Parsed<ApfsObject>.Damaged(At: 0, $"an object of {length} bytes");
        if (!Contains(address, (ulong)(length / BlockBytes)))
            return new Parsed<ApfsObject>.Damaged(At: 0, $"block {address} lies outside the container");
        var block = new byte[length];
        if (!ground.Part.TryRead((long)address * BlockBytes, block))
            return new Parsed<ApfsObject>.NotHeld();
        if (!ObjectHeader.IsProven(block))
            return new Parsed<ApfsObject>.Damaged(At: 0, "the checksum does not fit");
        return new Parsed<ApfsObject>.Value(_recent.Keep(address, new ApfsObject(ObjectHeader.Read(block), address, block)));
    }
}
