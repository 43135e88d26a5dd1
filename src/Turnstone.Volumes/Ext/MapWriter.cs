using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>Takes the stretches of one file in the order of its blocks and turns them into extents of the source.</summary>
/// <param name="blocks">The volume.</param>
/// <param name="blockSize">Bytes of a block.</param>
/// <param name="size">Bytes of the file.</param>
/// <param name="inPlace">Whether blocks keep their own place even where their newest state waits in the journal.</param>
internal sealed class MapWriter(ExtBlocks blocks, int blockSize, long size, bool inPlace)
{
    private readonly ExtentList _extents = new(size);

    /// <summary>The next block of the file.</summary>
    public long At { get; private set; }

    /// <summary>Blocks of the file.</summary>
    public long End { get; } = (size + blockSize - 1) / blockSize;

    /// <summary>What was seen that contradicts itself; null where nothing was.</summary>
    public string? Fault { get; set; }

    /// <summary>Whether a block was met whose checksum could not be asked because a part of it is not held.</summary>
    public bool IsUnconfirmed { get; set; }

    public void Zeros(long count) => Add(count, ExtentKind.Zeros);

    public void Unknown(long count) => Add(count, ExtentKind.Unknown);

    public void ZerosTo(long logical) => Zeros(logical - At);

    public void UnknownTo(long logical) => Unknown(logical - At);

    /// <summary>Adds blocks that lie in a row on the volume.</summary>
    public void Stored(long block, long count)
    {
        count = Math.Min(count, End - At);
        if (count <= 0)
            return;
        if (!blocks.Contains(block, count))
        {
            Fault = $"its block {block} lies outside the volume";
            Unknown(count);
            return;
        }

        while (count > 0)
        {
            long run = inPlace ? count : Math.Min(count, blocks.NextNewer(block) - block);
            if (run == 0 && blocks.ContentBlock(block) is not null)
                Run(blocks.ContentBlock(block)!.Value, run = 1);
            else if (run == 0)
                Unknown(run = 1);
            else
                Run(block, run);
            block += run;
            count -= run;
        }
    }

    public IReadOnlyList<Extent> Finish() => _extents.Finish();

    private void Run(long block, long count)
    {
        ByteRange place = blocks.Place(block, count);
        _extents.Add(Extent.At(place.Offset, place.Length));
        At += count;
    }

    private void Add(long count, ExtentKind kind)
    {
        count = Math.Min(count, End - At);
        if (count <= 0)
            return;
        _extents.Add(kind == ExtentKind.Zeros ? Extent.Zeros(count * blockSize) : Extent.Unknown(count * blockSize));
        At += count;
    }
}
