using System.Diagnostics;
using Turnstone.Media;
using Turnstone.Volumes;

// Lists all entries of all volumes of an image with their extents, as text, and tells time and memory.
// usage: VolumeListing IMAGE [LISTING]
if (args.Length is 0 or > 2)
{
    Console.Error.WriteLine("usage: VolumeListing IMAGE [LISTING]");
    return 2;
}

using var image = new ImageView(args[0], SectorSize.Small);
using TextWriter listing = args.Length == 2 ? new StreamWriter(args[1]) : TextWriter.Null;
long started = Stopwatch.GetTimestamp();
long entries = 0, extents = 0;
foreach (Volume volume in Disk.Read(image).Volumes)
{
    foreach (Entry entry in volume.Entries())
    {
        entries++;
        listing.Write(entry.Path.ToString());
        foreach (Extent extent in entry.Content?.Extents ?? [])
        {
            extents++;
            listing.Write('\t');
            listing.Write(extent.Offset);
            listing.Write('+');
            listing.Write(extent.Length);
        }

        listing.Write('\n');
    }
}

TimeSpan took = Stopwatch.GetElapsedTime(started);
Console.WriteLine($"{entries} entries, {extents} extents, {took.TotalSeconds:F2} s, most memory {Process.GetCurrentProcess().PeakWorkingSet64 / 1e6:F0} MB");
return 0;
