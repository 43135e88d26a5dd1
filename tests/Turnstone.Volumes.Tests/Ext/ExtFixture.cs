using System.Collections.Concurrent;
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

    public static Entry[] Entries(ISectorView view) => [.. OpenAll(view).SelectMany(volume => volume.Entries())];

    public static IReadOnlyList<Volume> OpenAll(ISectorView view) => new ExtFormat().Open(new PartView(view, new ByteRange(0, view.Length)), "whole");

    /// <summary>The digest of an entry's bytes; null where not all of them can be had.</summary>
    public static string? Digest(this Entry entry, ISectorView disk)
    {
        bool isWhole = entry.Content is { } content && !content.Missing(disk).Any();
        string? digest = entry.Content is null ? null : ManifestChecks.Digest(disk, entry.Content);
        Assert.True(isWhole == digest is not null, $"{entry.Path}: what is said to be missing and what can be read differ");
        return digest;
    }
}
