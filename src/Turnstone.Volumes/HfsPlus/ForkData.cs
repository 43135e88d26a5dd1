namespace Turnstone.Volumes.HfsPlus;

/// <summary>Allocation blocks in a row.</summary>
internal readonly record struct BlockRun(uint Start, uint Count)
{
    public ulong End => (ulong)Start + Count;
}

/// <summary>One fork of a file: its size and its first eight runs; further ones stand in the extents-overflow file.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Fork Data Structure" (from memory).</remarks>
internal sealed record ForkData(ulong LogicalSize, uint TotalBlocks, IReadOnlyList<BlockRun> Runs)
{
    public const int Length = 80;
    public const int RunsLength = 64;

    private const int RunsAt = 16;

    public bool IsEmpty => LogicalSize == 0 && Runs.Count == 0;

    public static ForkData Read(ReadOnlySpan<byte> bytes) =>
        new(bytes.U64(0), bytes.U32(12), ReadRuns(bytes.Slice(RunsAt, RunsLength)));

    /// <summary>Up to eight runs; the first one without blocks ends them.</summary>
    public static IReadOnlyList<BlockRun> ReadRuns(ReadOnlySpan<byte> bytes)
    {
        int count = 0;
        while (count < 8 && bytes.U32((8 * count) + 4) != 0)
            count++;
        var runs = new BlockRun[count];
        for (int i = 0; i < count; i++)
            runs[i] = new BlockRun(bytes.U32(8 * i), bytes.U32((8 * i) + 4));
        return runs;
    }
}
