using Turnstone.Media;

namespace Turnstone.Bench;

/// <summary>A healthy patient of a few bytes that remembers what it was asked.</summary>
public sealed class MemorySource : IBlockSource
{
    private readonly byte[] _bytes;

    public MemorySource(byte[] bytes, int logical = 512, int physical = 512)
    {
        _bytes = bytes;
        Geometry = new Geometry(new SectorSize(logical), new SectorSize(physical), new SectorCount(bytes.Length / logical));
    }

    /// <summary>One whose every byte depends on its place, so that a misplaced sector shows.</summary>
    public static MemorySource OfSectors(int sectors, int logical = 512, int physical = 512, int seed = 1)
    {
        byte[] bytes = new byte[sectors * logical];
        new Random(seed).NextBytes(bytes);
        return new MemorySource(bytes, logical, physical);
    }

    public ReadOnlySpan<byte> Content => _bytes;

    public List<SectorRange> Asked { get; } = [];

    public SourceIdentity Identity { get; init; } = new("memory", "invented", "Model of the bench", "BENCH-1");

    public Geometry Geometry { get; }

    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        Asked.Add(range);
        ByteRange bytes = range.Bytes(Geometry.Logical);
        Memory<byte> buffer = into[..(int)bytes.Length];
        _bytes.AsMemory((int)bytes.Offset, (int)bytes.Length).CopyTo(buffer);
        return new ReadOutcome.Bytes(buffer) { Asked = range, Took = TimeSpan.FromMilliseconds(1) };
    }

    public void Dispose()
    {
    }
}
