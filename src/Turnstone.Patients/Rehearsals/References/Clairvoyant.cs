using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>Knows in advance which sectors answer at once, which heads are dead and what every sector is worth: the order of the upper bound, with positioning paid for.</summary>
/// <remarks>Takes one worth after the other, each from the outer edge in; sectors that may refuse come last, best first, a few times.</remarks>
internal sealed class Clairvoyant : IStrategy
{
    private const int LastTries = 12;

    public string Name => "clairvoyant";

    public string Description => "knows what is worth what, what never answers and which head is dead; best first, with positioning paid for: what can be run of the upper bound";

    public void Run(Bedside bed)
    {
        int silences = 0;
        WorthMap worth = bed.Worth;
        (long First, long End)[] troubled = Addresses(bed.Patient.Truth.Troubled(), worth), lost = Addresses(bed.Patient.Truth.Lost(), worth);
        PlanRun[][] tiers = [.. worth.Runs.Where(r => r.File != WorthMap.Worthless).GroupBy(r => worth.WeightOf(r.Worth)).OrderByDescending(t => t.Key).Select(t => t.ToArray())];
        var left = new List<SectorRange>();
        foreach (PlanRun[] tier in tiers)
            Ask(bed, tier.SelectMany(run => Logical(Without(run.First, run.End, troubled), worth)), Asking.LargeBytes, left, ref silences);
        left.AddRange(tiers.SelectMany(tier => tier).SelectMany(run => Logical(Doubtful(run, troubled, lost), worth)));
        for (int i = 0; i < LastTries && left.Count > 0; i++)
        {
            List<SectorRange> again = left;
            left = [];
            // Every other time from the far end back, for those that answer only so.
            Ask(bed, i % 2 == 0 ? again : Enumerable.Reverse(again), bed.Geometry.Physical.Bytes, left, ref silences);
        }
    }

    private static void Ask(Bedside bed, IEnumerable<SectorRange> ranges, int bytes, List<SectorRange> left, ref int silences)
    {
        foreach (SectorRange block in ranges.SelectMany(range => Asking.Blocks(range, bytes, bed.Geometry)))
        {
            if (bed.IsOver)
                return;
            if (IsUnderDeadHead(bed, block.Start))
                continue;
            // A block that ends under a dead head is left for later, sector by sector.
            bool halfDead = IsUnderDeadHead(bed, new Lba(block.End.Value - 1));
            if (halfDead || !Asking.Of(bed, block, ref silences).IsGiven)
                left.Add(block);
        }
    }

    private static bool IsUnderDeadHead(Bedside bed, Lba lba) => bed.Patient.Truth.HeadOf(lba) is { } head && bed.Patient.Truth.IsDead(head);

    private static (long First, long End)[] Addresses(IEnumerable<SectorRange> ranges, WorthMap worth) =>
        [.. ranges.Select(r => (r.Start.Value / worth.PerPhysical, (r.End.Value + worth.PerPhysical - 1) / worth.PerPhysical))];

    private static IEnumerable<SectorRange> Logical(IEnumerable<(long First, long End)> addresses, WorthMap worth) =>
        addresses.Select(a => SectorRange.Between(a.First * worth.PerPhysical, a.End * worth.PerPhysical));

    /// <summary>The parts of a run that may refuse and are not lost.</summary>
    private static IEnumerable<(long First, long End)> Doubtful(PlanRun run, (long First, long End)[] troubled, (long First, long End)[] lost)
    {
        for (int i = FirstEndingAfter(run.First, troubled); i < troubled.Length && troubled[i].First < run.End; i++)
        {
            foreach ((long First, long End) part in Without(Math.Max(run.First, troubled[i].First), Math.Min(run.End, troubled[i].End), lost))
                yield return part;
        }
    }

    /// <summary>The parts of [first, end) that are in none of the runs.</summary>
    private static IEnumerable<(long First, long End)> Without(long first, long end, (long First, long End)[] runs)
    {
        for (int i = FirstEndingAfter(first, runs); first < end; i++)
        {
            long to = i < runs.Length ? Math.Min(end, runs[i].First) : end;
            if (first < to)
                yield return (first, to);
            first = i < runs.Length ? Math.Max(first, runs[i].End) : end;
        }
    }

    private static int FirstEndingAfter(long address, (long First, long End)[] runs) => Ordered.FirstEndingAfter<(long First, long End)>(runs, address, static r => r.End);
}
