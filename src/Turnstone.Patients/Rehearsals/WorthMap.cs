using Turnstone.Media;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Rehearsals;

/// <summary>What is worth how much on one patient: every address once, in order.</summary>
/// <remarks>
/// Addresses count physical sectors. What reads as zeros because it was never written, and what returns wrong bytes, is worth
/// nothing to anybody. A wished file counts as whole when all of it is held; one with wrong bytes in it never does.
/// </remarks>
internal sealed class WorthMap
{
    private readonly bool[] _spoiled;

    public WorthMap(Patient patient, Scenario scenario)
    {
        SectorBytes = patient.Geometry.Physical.Bytes;
        PerPhysical = patient.Geometry.LogicalPerPhysical;
        Capacity = patient.Geometry.Capacity.Value / PerPhysical;
        WishWeight = scenario.Files.WishWeight;
        List<PlanRun> files = FilePlan.Draw(scenario.Files, Capacity, SectorBytes, scenario.Seed);
        int count = files.Count == 0 ? 0 : files.Max(f => f.File) + 1;
        _spoiled = new bool[count];
        Runs = [.. WithoutWorthless(Filled(files), patient)];
        FileSizes = new long[count];
        FileIsWished = new bool[count];
        foreach (PlanRun run in Runs.Where(r => r.File >= 0))
        {
            FileSizes[run.File] += run.End - run.First;
            FileIsWished[run.File] = run.Worth == Worth.Wished;
        }
    }

    /// <summary>Physical sectors of the drive.</summary>
    public long Capacity { get; }

    public int SectorBytes { get; }

    public int PerPhysical { get; }

    public double WishWeight { get; }

    /// <summary>All addresses in order.</summary>
    public PlanRun[] Runs { get; }

    /// <summary>Physical sectors of each file.</summary>
    public long[] FileSizes { get; }

    /// <summary>Which files the client wishes for.</summary>
    public bool[] FileIsWished { get; }

    /// <summary>Whether a file can never be whole.</summary>
    public bool IsSpoiled(int file) => _spoiled[file];

    /// <summary>Value of one byte in the wish-weighted curve.</summary>
    public double WeightOf(Worth worth) => worth switch
    {
        Worth.Nothing => 0,
        Worth.Other => 1,
        Worth.Wished or Worth.Skeleton => WishWeight,
    };

    /// <summary>Number of the run that an address lies in.</summary>
    public int RunAt(long address) => Ordered.FirstEndingAfter<PlanRun>(Runs, address, static r => r.End);

    /// <summary>A copy of the spoiled files for a caller that knows of more.</summary>
    public bool[] Spoiled() => [.. _spoiled];

    private IEnumerable<PlanRun> Filled(List<PlanRun> files)
    {
        long at = 0;
        foreach (PlanRun run in files)
        {
            if (at < run.First)
                yield return new PlanRun(at, run.First, Worth.Nothing, -1);
            yield return run;
            at = run.End;
        }

        if (at < Capacity)
            yield return new PlanRun(at, Capacity, Worth.Nothing, -1);
    }

    /// <summary>Cuts out what is given and is still worth nothing, not even as bytes.</summary>
    private IEnumerable<PlanRun> WithoutWorthless(IEnumerable<PlanRun> runs, Patient patient)
    {
        SectorRange whole = patient.Geometry.Whole;
        var cuts = new Queue<(long First, long End, bool Wrong)>(patient.Truth.Unmapped(whole).Select(r => Addresses(r, wrong: false))
            .Concat(patient.Truth.Wrong(whole).Select(w => Addresses(w.Where, wrong: true))).OrderBy(c => c.First));
        foreach (PlanRun run in runs)
        {
            long at = run.First;
            while (cuts.TryPeek(out (long First, long End, bool Wrong) cut) && cut.First < run.End)
            {
                if (at < cut.First)
                    yield return run with { First = at, End = cut.First };
                long end = Math.Min(cut.End, run.End);
                yield return new PlanRun(Math.Max(at, cut.First), end, Worth.Nothing, Worthless);
                if (cut.Wrong && run.File >= 0)
                    _spoiled[run.File] = true;
                at = end;
                if (cut.End > run.End)
                    break;
                cuts.Dequeue();
            }

            if (at < run.End)
                yield return run with { First = at };
        }
    }

    /// <summary>Stands as the file of a stretch whose bytes are worth nothing even as bytes.</summary>
    public const int Worthless = -2;

    private (long First, long End, bool Wrong) Addresses(SectorRange range, bool wrong) =>
        (range.Start.Value / PerPhysical, Math.Min(Capacity, range.End.Value / PerPhysical), wrong);
}
