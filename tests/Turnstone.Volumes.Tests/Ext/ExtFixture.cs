using System.Collections.Concurrent;
using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Ext;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>Volumes that mke2fs and the kernel's own driver made; each is made once a machine.</summary>
internal static class ExtFixture
{
    private static readonly ConcurrentDictionary<string, OutsideVolume> Made = new(StringComparer.Ordinal);

    public static readonly string[] Variants =
    [
        "ext2", "ext2-wide", "ext3", "ext4", "ext4-1k", "gdt-sums", "meta-bg", "no-flex", "inline", "bigalloc", "block-map", "sparse2", "waiting", "removed",
    ];

    public static TheoryData<string> All => [.. Variants];

    public static OutsideVolume Get(string variant) => Made.GetOrAdd(variant, static name => OutsideVolume.Make("make-ext.sh", name));

    public static Volume Open(ISectorView view) => Assert.Single(OpenAll(view));

    public static IReadOnlyList<Volume> OpenAll(ISectorView view) => new ExtFormat().Open(new PartView(view, new ByteRange(0, view.Length)), "whole");

    /// <summary>The digest of an entry's bytes; null where not all of them can be had.</summary>
    public static string? Digest(this Entry entry, ISectorView disk)
    {
        if (entry.Content is not { } content || content.Missing(disk).Any())
            return null;
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var buffer = new byte[1 << 16];
        for (long at = 0; at < content.Length; at += buffer.Length)
        {
            Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, content.Length - at));
            Assert.True(content.TryRead(disk, at, part), $"{entry.Path}: nothing is missing, and yet it cannot be read at {at}");
            hash.AppendData(part);
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }

    /// <summary>Extents as the manifest writes them: holes joined, cut at the size.</summary>
    public static string Show(IEnumerable<(long FileOffset, long? ImageOffset, long Length)> extents, long size) => string.Join(',', extents
        .Where(e => e.FileOffset < size).Select(e => $"{e.FileOffset}:{e.ImageOffset?.ToString() ?? "hole"}:{Math.Min(e.Length, size - e.FileOffset)}"));

    public static string Show(FileContent content)
    {
        long at = 0;
        var shown = new List<(long, long?, long)>();
        foreach (Extent extent in content.Extents!)
        {
            shown.Add((at, extent.Kind == ExtentKind.Stored ? extent.Offset : null, extent.Length));
            at += extent.Length;
        }

        return Show(shown, content.Length);
    }
}
