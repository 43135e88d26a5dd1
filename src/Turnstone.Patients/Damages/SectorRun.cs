using Turnstone.Media;
using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Damages;

/// <summary>A run of physical sectors with one kind of trouble.</summary>
/// <param name="First">First physical sector.</param>
/// <param name="End">The one after the last.</param>
/// <param name="Kind">What trouble; <see cref="TroubleKind.Soft"/> where each sector is soft or hard by chance.</param>
/// <param name="SoftShare">Share of soft sectors in a soft run.</param>
/// <param name="Cause">What the drive says when it refuses.</param>
/// <param name="Damage">Number of the damage that it comes from.</param>
internal readonly record struct SectorRun(long First, long End, TroubleKind Kind, double SoftShare, RefusalCause Cause, int Damage)
{
    /// <summary>All runs of a drive, in address order, none overlapping another: where two would, the one that starts first keeps its place.</summary>
    public static SectorRun[] Build(IReadOnlyList<Damage> damages, long capacity, int logicalPerPhysical, ulong seed)
    {
        IEnumerable<SectorRun> all = damages.SelectMany((damage, i) => Draw(damage, i, capacity, logicalPerPhysical, Chance.For(seed, $"sectors {i}")));
        var apart = new List<SectorRun>();
        foreach (SectorRun run in all.OrderBy(r => r.First).ThenBy(r => r.Damage))
        {
            long first = apart.Count > 0 ? Math.Max(run.First, apart[^1].End) : run.First, end = Math.Min(run.End, capacity);
            if (first < end)
                apart.Add(run with { First = first, End = end });
        }

        return [.. apart];
    }

    private static IEnumerable<SectorRun> Draw(Damage damage, int number, long capacity, int logicalPerPhysical, Chance chance) => damage switch
    {
        Damage.Latent latent => LatentErrors.Draw(latent.Clusters ?? LatentErrors.DrawClusters(chance), capacity, chance)
            .Select(r => new SectorRun(r.First, r.First + r.Count, TroubleKind.Soft, latent.SoftShare, RefusalCause.Medium, number)),
        Damage.Run run => [new SectorRun(run.Start / logicalPerPhysical, (run.Start + run.Sectors + logicalPerPhysical - 1) / logicalPerPhysical, TroubleKind.Soft, run.SoftShare, run.Cause, number)],
        Damage.Hangs hangs => Scatter(hangs.Count, KindOf(hangs.Cure), number, capacity, chance),
        Damage.Stubborn stubborn => Scatter(stubborn.Count, TroubleKind.Stubborn, number, capacity, chance),
        _ => [],
    };

    private static IEnumerable<SectorRun> Scatter(int count, TroubleKind kind, int number, long capacity, Chance chance)
    {
        for (int i = 0; i < count; i++)
        {
            long at = chance.Below(capacity);
            yield return new SectorRun(at, at + 1, kind, 0, RefusalCause.Medium, number);
        }
    }

    private static TroubleKind KindOf(HangCure cure) => cure switch
    {
        HangCure.Reset => TroubleKind.HangsUntilReset,
        HangCure.Power => TroubleKind.HangsUntilPower,
    };
}
