using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Bench;

/// <summary>A volume whose entries and usage are written down in a test.</summary>
public sealed class HandMadeVolume(string kind, params Entry[] entries) : Volume
{
    public string Name { get; init; } = "p1";

    public IReadOnlyList<UsageRun> Used { get; init; } = [];

    public override VolumeFacts Facts => new() { Name = Name, Kind = kind, Place = new ByteRange(0, 1L << 40) };

    public override IEnumerable<Entry> Entries() => entries;

    public override IEnumerable<ByteRange> Skeleton() => [];

    public override IEnumerable<UsageRun> Usage() => Used;
}

/// <summary>Entries in few words.</summary>
public static class HandMade
{
    /// <summary>A live file at the given stretches.</summary>
    public static Entry File(string path, params Extent[] extents) => new()
    {
        Path = At(path),
        Kind = EntryKind.File,
        Content = new StoredContent(extents),
    };

    /// <summary>The same, given up.</summary>
    public static Entry DeletedFile(string path, params Extent[] extents) => File(path, extents) with { Deleted = true };

    /// <summary>A folder.</summary>
    public static Entry Folder(string path) => new() { Path = At(path), Kind = EntryKind.Folder };

    /// <summary>A path from text with '/' between names.</summary>
    public static EntryPath At(string path) => path.Split('/').Aggregate(EntryPath.Root, (folder, name) => folder[name]);

    /// <summary>Bytes that differ from place to place, the same for the same seed.</summary>
    public static byte[] Bytes(int length, int seed = 1)
    {
        byte[] bytes = new byte[length];
        new Random(seed).NextBytes(bytes);
        return bytes;
    }

    /// <summary>A disk with these volumes.</summary>
    public static Disk Disk(params Volume[] volumes) => new("none", [], volumes, [], []);
}
