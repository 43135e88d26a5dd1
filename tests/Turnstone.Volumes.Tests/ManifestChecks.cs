using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Compares what a reader says with what outside tools wrote and read back.</summary>
internal static class ManifestChecks
{
    /// <summary>SHA-256 of an entry's bytes, or null where any is missing.</summary>
    public static string? Digest(ISectorView disk, FileContent content) => EntryBytes.Digest(disk, content);

    /// <summary>The manifest's extents as the model writes them: joined, and cut at the file's size.</summary>
    public static IReadOnlyList<Extent> Extents(ManifestLine line)
    {
        var extents = new ExtentList(line.Size);
        foreach ((_, long? at, long length) in line.Extents)
            extents.Add(at is { } offset ? Extent.At(offset, length) : Extent.Zeros(length));
        return extents.Finish();
    }

    /// <summary>Every live file and folder of the manifest is there with its size, time, content and place, and nothing else is.</summary>
    public static void LiveFilesEqual(OutsideVolume outside, ISectorView disk, IEnumerable<Entry> entries, long volumeAt = 0)
    {
        ManifestLine[] lines = [.. outside.Manifest.Where(line => !line.Deleted && line.VolumeOffset == volumeAt)];
        var live = entries.Where(entry => !entry.Deleted).ToDictionary(entry => entry.Path.ToString());
        Assert.Equal(lines.Select(line => line.Path).Order(StringComparer.Ordinal), live.Keys.Order(StringComparer.Ordinal));
        foreach (ManifestLine line in lines.Where(line => line.Type == "file"))
        {
            Entry entry = live[line.Path];
            Assert.Equal(Certainty.Sure, entry.Certainty);
            Assert.Equal(line.Size, entry.Size);
            Assert.Equal(line.Modified, entry.Times.Modified?.ToUnixTimeSeconds());
            Assert.Equal(Extents(line), entry.Content!.Extents);
            Assert.Empty(entry.Content.Missing(disk));
            Assert.Equal(line.Sha256, Digest(disk, entry.Content));
        }
    }

    /// <summary>How many deleted files of the manifest come out under their own path with their own bytes.</summary>
    public static int DeletedFound(OutsideVolume outside, ISectorView disk, IEnumerable<Entry> entries)
    {
        ILookup<string, Entry> deleted = entries.Where(entry => entry is { Deleted: true, Kind: EntryKind.File }).ToLookup(entry => entry.Path.ToString());
        return outside.Manifest.Count(line => line is { Deleted: true, Type: "file" } && deleted[line.Path].Any(entry => Digest(disk, entry.Content!) == line.Sha256));
    }

    /// <summary>What no reader may do: call a file whole whose bytes are others, or be sure of one that is not there.</summary>
    public static void NothingInvented(OutsideVolume outside, ISectorView holed, IEnumerable<Entry> entries)
    {
        ILookup<string, ManifestLine> lines = outside.Manifest.ToLookup(line => line.Path);
        foreach (Entry entry in entries.Where(entry => entry.Certainty == Certainty.Sure))
        {
            string path = entry.Path.ToString();
            Assert.True(lines.Contains(path), $"invented: {path}");
            if (entry.Content is { } content && !content.Missing(holed).Any())
                Assert.Equal(lines[path].First().Sha256, Digest(holed, content));
        }
    }

    /// <summary>Reads again and again with nothing held but what the skeleton asked for, until it asks for nothing more.</summary>
    public static HoledView SkeletonOnly(ISectorView whole)
    {
        IReadOnlyList<ByteRange> held = [];
        while (true)
        {
            HoledView view = HoledView.Only(whole, held);
            Disk disk = Disk.Read(view);
            ByteRange[] wanted = [.. disk.Skeleton.Concat(disk.Volumes.SelectMany(volume => volume.Skeleton())).Distinct().OrderBy(range => range.Offset)];
            if (wanted.All(range => !view.Missing(range.Intersect(new ByteRange(0, whole.Length))).Any()))
                return view;
            held = [.. held.Concat(wanted)];
        }
    }
}
