using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>A volume that no table leads to.</summary>
/// <param name="Volume">The volume; named 'at-' and its first byte.</param>
/// <param name="Consistency">From 0 to 1: how well its structures agree with each other.</param>
/// <param name="Evidence">What was found and compared, for a person.</param>
public sealed record LostVolume(Volume Volume, double Consistency, IReadOnlyList<string> Evidence);

/// <summary>Searches a disk for volumes by their own structures, for when the partition table is lost or does not list them all.</summary>
/// <remarks>Reads every held byte once, so it takes as long as that; then looks at each place where a trace says that a volume starts.</remarks>
public static class LostVolumes
{
    // A disk has a handful; what goes past this is a disk full of images, or one made to take long.
    private const int Most = 256;

    /// <summary>The volumes found, the most consistent first, at most 256; none that lies mostly inside a more consistent one, and none that is known.</summary>
    /// <param name="disk">The whole patient.</param>
    /// <param name="known">What the partition table led to.</param>
    /// <param name="stop">Ends the search early; what was found by then is lost.</param>
    /// <exception cref="OperationCanceledException">The search was ended.</exception>
    public static IReadOnlyList<LostVolume> Search(ISectorView disk, Disk known, CancellationToken stop = default)
    {
        HashSet<long> starts = [.. known.Volumes.Select(volume => volume.Facts.Place.Offset)];
        var found = new List<LostVolume>();
        foreach ((long start, List<string> traces) in Traces(disk, stop))
        {
            stop.ThrowIfCancellationRequested();
            if (!starts.Contains(start))
                found.AddRange(VolumeFormats.Open(new PartView(disk, ByteRange.Between(start, disk.Length)), $"at-{start}").Select(volume => Weigh(volume, traces)));
        }

        return Outermost([.. found.OrderByDescending(f => f.Consistency).ThenByDescending(f => f.Volume.Facts.Place.Length)], known);
    }

    private static SortedDictionary<long, List<string>> Traces(ISectorView disk, CancellationToken stop)
    {
        var traces = new SortedDictionary<long, List<string>>();
        foreach (VolumeTrace trace in VolumeTraces.Find(disk, stop))
        {
            if (trace.Start < 0 || trace.Start >= disk.Length)
                continue;
            if (!traces.TryGetValue(trace.Start, out List<string>? here))
                traces[trace.Start] = here = [];
            here.Add($"{trace.What} at byte {trace.FoundAt}");
        }

        return traces;
    }

    /// <summary>Half a point for and half against stand for what is not known, so that one lucky match is not yet a volume.</summary>
    private static LostVolume Weigh(Volume volume, List<string> traces)
    {
        VolumeCheck[] checks = [.. volume.Checks()];
        int fits = checks.Count(check => check.Fits == true), misfits = checks.Count(check => check.Fits == false);
        double consistency = checks.Length > 0 ? (fits + 0.5) / (fits + misfits + 1) : OfCertainty(volume.Facts.Certainty);
        IEnumerable<string> compared = checks.Select(check => $"{check.What}: {(check.Fits is { } fit ? fit ? "yes" : "no" : "not held")}");
        return new LostVolume(volume, consistency, [.. traces, .. compared]);
    }

    private static double OfCertainty(Certainty certainty) => certainty switch
    {
        Certainty.Sure => 0.9,
        Certainty.Likely => 0.6,
        Certainty.Guessed => 0.3,
    };

    private static List<LostVolume> Outermost(List<LostVolume> found, Disk known)
    {
        var kept = new List<LostVolume>();
        List<ByteRange> taken = [.. known.Volumes.Select(volume => volume.Facts.Place)];
        foreach (LostVolume lost in found)
        {
            ByteRange place = lost.Volume.Facts.Place;
            if (kept.Count == Most)
                break;
            // Volumes of one container share its place.
            if (taken.Any(other => other != place && other.Intersect(place).Length > place.Length / 2))
                continue;
            kept.Add(lost);
            taken.Add(place);
        }

        return kept;
    }
}
