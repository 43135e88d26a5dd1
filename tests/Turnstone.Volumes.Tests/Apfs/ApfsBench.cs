using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>A real volume that outside tools wrote (tests/volumes/prebuilt/apfs.md), with its manifest.</summary>
internal sealed class RealVolume(string name, string label, (long First, long Count)[] writtenBlocks)
{
    private readonly Lazy<OutsideVolume> _made = new(() => OutsideVolume.Make("make-apfs.sh", name));

    public OutsideVolume Outside => _made.Value;

    public string Label => label;

    /// <summary>What was ever written of it, by the image's own data ranges; a hole elsewhere would hit nothing.</summary>
    public IReadOnlyList<ByteRange> Written { get; } = [.. writtenBlocks.Select(b => new ByteRange(b.First * 4096, b.Count * 4096))];

    public Dictionary<string, ManifestLine> Lines => Outside.Manifest.ToDictionary(line => line.Path);

    /// <summary>A view that holds only what was ever written, so that a search needs no time for zeros.</summary>
    public HoledView WrittenOnly(ISectorView image) => HoledView.Only(image, Written);
}

/// <summary>The volumes to try the reader on, and how to open them.</summary>
internal static class ApfsBench
{
    public static RealVolume Plain { get; } = new("apfs", "Turnstone apfs", [(0, 600), (5969, 775), (20_000, 8), (21_000, 40), (491_520, 192)]);

    public static RealVolume Features { get; } = new("apfs-features", "Turnstone features", [(0, 189), (5969, 1220), (20_000, 8), (21_000, 31), (491_520, 389)]);

    public static RealVolume Named(string name) => name == "plain" ? Plain : Features;

    public static IReadOnlyList<Volume> Open(ISectorView view) => new ApfsFormat().Open(new PartView(view, new ByteRange(0, view.Length)), "p1");

    /// <summary>The container that starts at the view's first byte, for tests that ask about its insides.</summary>
    public static Container ContainerOf(ISectorView view)
    {
        var block = new byte[4096];
        view.TryRead(0, block);
        ContainerSuperblock first = ContainerSuperblock.Read(block).OrNone!;
        var ground = new ContainerGround(new PartView(view, new ByteRange(0, view.Length)), first.BlockBytes, first.Blocks);
        return new Container(ground, first, new NodeScan(ground));
    }

    public static Volume Single(ISectorView view) => Assert.Single(Open(view));

    /// <summary>Digest of a file's content; null where not all of it can be had.</summary>
    public static string? Digest(this Entry entry, ISectorView disk) =>
        entry.Content is { } content && !content.Missing(disk).Any() ? ManifestChecks.Digest(disk, content) : null;
}

/// <summary>A view of which more and more is held.</summary>
internal sealed class GrowingView(ISectorView inner, IEnumerable<ByteRange> first) : ISectorView
{
    private readonly List<ByteRange> _held = [.. first];
    private HoledView _now = HoledView.Only(inner, first);

    public long Length => inner.Length;

    public SectorSize SectorSize => inner.SectorSize;

    public void Hold(IEnumerable<ByteRange> more)
    {
        _held.AddRange(more);
        _now = HoledView.Only(inner, _held);
    }

    public bool TryRead(long offset, Span<byte> into) => _now.TryRead(offset, into);

    public IEnumerable<ByteRange> Missing(ByteRange range) => _now.Missing(range);
}

/// <summary>A view in which some blocks were bent; what they say is proven by a checksum all the same.</summary>
internal sealed class BentView(ISectorView inner, IReadOnlyDictionary<long, byte[]> bent, int blockBytes) : ISectorView
{
    /// <summary>Reads and questions so far.</summary>
    public long Calls { get; private set; }

    public long BytesRead { get; private set; }

    public long Length => inner.Length;

    public SectorSize SectorSize => inner.SectorSize;

    public bool TryRead(long offset, Span<byte> into)
    {
        Calls++;
        BytesRead += into.Length;
        bool whole = inner.TryRead(offset, into);
        for (long block = offset / blockBytes; offset >= 0 && block * blockBytes < offset + into.Length; block++)
        {
            if (!bent.TryGetValue(block, out byte[]? bytes))
                continue;
            long from = Math.Max(offset, block * blockBytes), end = Math.Min(offset + into.Length, (block + 1) * blockBytes);
            bytes.AsSpan((int)(from - (block * blockBytes)), (int)(end - from)).CopyTo(into[(int)(from - offset)..]);
        }

        return whole;
    }

    public IEnumerable<ByteRange> Missing(ByteRange range)
    {
        Calls++;
        return inner.Missing(range);
    }
}
