using System.Diagnostics;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.VolumeBench;

/// <summary>Lists every entry with its size, time and extents as text, as a recursive listing of an outside tool does.</summary>
internal static class Listing
{
    public static void Run(string path, TextWriter listing)
    {
        using var image = new ImageView(path, SectorSize.Small);
        var watch = Stopwatch.StartNew();
        (long entries, long extents) = (0, 0);
        TimeSpan first = default;
        foreach (Entry entry in Disk.Read(image).Volumes.SelectMany(volume => volume.Entries()))
        {
            if (entries++ == 0)
                first = watch.Elapsed;
            listing.Write($"{entry.Path}\t{entry.Size}\t{entry.Times.Modified:O}");
            foreach (Extent extent in entry.Content?.Extents ?? [])
            {
                extents++;
                listing.Write($"\t{extent.Offset}+{extent.Length}");
            }

            listing.Write('\n');
        }

        using var self = Process.GetCurrentProcess();
        Console.WriteLine($"{entries} entries, {extents} extents; first after {first.TotalSeconds:F2} s, all after {watch.Elapsed.TotalSeconds:F2} s, processor {self.TotalProcessorTime.TotalSeconds:F2} s, peak {self.PeakWorkingSet64 / 1e6:F0} MB");
    }
}
