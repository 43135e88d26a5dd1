using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>Knows in advance which sectors never answer and what every sector is worth: the order of the upper bound, with positioning paid for.</summary>
/// <remarks>Takes one worth after the other, each from the outer edge in, and asks what refused for another reason a few more times at the end.</remarks>
internal sealed class Clairvoyant : IStrategy
{
    private const int LastTries = 12;

    public string Name => "clairvoyant";

    public string Description => "knows what is worth what and what never answers; best first, with positioning paid for: what can be run of the upper bound";

    public void Run(Bedside bed)
    {
        int silences = 0;
        WorthMap worth = bed.Worth;
        (long First, long End)[] lost = [.. new GoodSectors(bed.Patient, worth).Lost];
        var left = new List<SectorRange>();
        foreach (IGrouping<double, PlanRun> tier in worth.Runs.Where(r => r.File != WorthMap.Worthless).GroupBy(r => worth.WeightOf(r.Worth)).OrderByDescending(t => t.Key))
            Ask(bed, tier.SelectMany(run => Good(run, lost, worth)), Asking.LargeBytes, left, ref silences);
        for (int i = 0; i < LastTries && left.Count > 0; i++)
        {
            List<SectorRange> again = left;
            left = [];
            // From the far end back, for those that answer only so.
            Ask(bed, i % 2 == 0 ? again : Enumerable.Reverse(again), bed.Geometry.Physical.Bytes, left, ref silences);
        }
    }

    private static void Ask(Bedside bed, IEnumerable<SectorRange> ranges, int bytes, List<SectorRange> left, ref int silences)
    {
        foreach (SectorRange block in ranges.SelectMany(range => Asking.Blocks(range, bytes, bed.Geometry)))
        {
            if (bed.IsOver)
                return;
            if (!Asking.Of(bed, block, ref silences).IsGiven)
                left.Add(block);
        }
    }

    /// <summary>The parts of a run that are not lost, as logical sectors.</summary>
    private static IEnumerable<SectorRange> Good(PlanRun run, (long First, long End)[] lost, WorthMap worth)
    {
        int i = Array.BinarySearch(lost, (run.First, run.First), Comparer<(long First, long End)>.Create((a, b) => a.End.CompareTo(b.End)));
        long at = run.First;
        for (i = i < 0 ? ~i : i; at < run.End; i++)
        {
            long to = i < lost.Length ? Math.Min(run.End, lost[i].First) : run.End;
            if (at < to)
                yield return SectorRange.Between(at * worth.PerPhysical, to * worth.PerPhysical);
            at = i < lost.Length ? Math.Max(at, lost[i].End) : run.End;
        }
    }
}
