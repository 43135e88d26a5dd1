using Turnstone.Media;

namespace Turnstone.Volumes.Partitions;

/// <summary>The parts of a partition that can show what is in it, while that is not known.</summary>
internal static class VolumeEnds
{
    // Every main structure that is known here lies in the first 68 KiB of its volume, and the copies at the far end in the last 4.
    private const int Front = 68 * 1024, Back = 4096;

    public static IEnumerable<ByteRange> Of(IEnumerable<Partition> partitions, ByteRange disk)
    {
        foreach (ByteRange place in partitions.Select(p => p.Place.Intersect(disk)).Where(place => !place.IsEmpty))
        {
            yield return new ByteRange(place.Offset, Math.Min(Front, place.Length));
            yield return ByteRange.Between(Math.Max(place.Offset, place.End - Back), place.End);
        }
    }
}

/// <summary>Where formatting tools and systems put the first volume, for a disk whose table is lost.</summary>
/// <remarks>Common practice, no source: sector 63 of old systems, 1 MiB of newer ones, sector 40 and 209,735,680 bytes (behind a 200 MiB EFI partition) of Apple's.</remarks>
internal static class UsualStarts
{
    private static readonly long[] s_starts = [63 * 512, 63 * 4096, 40 * 512, 6 * 4096, 1 << 20, 409_640L * 512, 76_806L * 4096];

    public static IEnumerable<ByteRange> Places(ISectorView disk) =>
        s_starts.Where(start => start < disk.Length).Select(start => new ByteRange(start, Math.Min(4096, disk.Length - start)));

    /// <summary>Volumes at those places, none inside one found before.</summary>
    public static IEnumerable<(Partition Partition, IReadOnlyList<Volume> Volumes)> Search(ISectorView disk)
    {
        long reached = 0;
        foreach (long start in s_starts.Order().Where(start => start < disk.Length))
        {
            if (start < reached)
                continue;
            string name = $"at-{start}";
            IReadOnlyList<Volume> volumes = VolumeFormats.Open(new PartView(disk, ByteRange.Between(start, disk.Length)), name);
            if (volumes.Count == 0)
                continue;
            ByteRange place = volumes[0].Facts.Place;
            reached = place.End;
            yield return (new Partition(name, place, volumes[0].Facts.Kind, null, Origin.Scan), volumes);
        }
    }
}
