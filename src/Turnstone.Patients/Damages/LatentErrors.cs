using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Damages;

/// <summary>Draws single bad sectors as healthy populations of drives show them: few drives have any, few of those have many, and they cluster.</summary>
/// <remarks>
/// Shaped to Bairavasundaram et al., An Analysis of Latent Sector Errors in Disk Drives, SIGMETRICS 2007 (few drives, heavy
/// tail, locality) and Schroeder, Damouras and Gill, Understanding Latent Sector Errors and How to Protect Against
/// Them, FAST 2010 (runs of two or more below 2.5 %, distance to a second error mostly within 100 sectors, 20 to 50 % in the first tenth of
/// the addresses), both read second-hand. The distributions' own parameters are assumptions. Counted in physical sectors.
/// </remarks>
internal static class LatentErrors
{
    /// <summary>Most clusters that are drawn for one drive.</summary>
    private const int ClustersMax = 3000;

    /// <summary>Clusters of one drive of the population: none for nine in ten.</summary>
    public static int DrawClusters(Chance chance) =>
        chance.Happens(0.9) ? 0 : (int)Math.Min(ClustersMax, Math.Ceiling(Math.Pow(1 - chance.Unit(), -1 / 0.9)));

    /// <summary>Runs of bad physical sectors, in the order in which they were drawn; they may overlap.</summary>
    public static IEnumerable<(long First, long Count)> Draw(int clusters, long capacity, Chance chance)
    {
        for (int i = 0; i < clusters; i++)
        {
            long at = chance.Below(chance.Happens(0.35) ? Math.Max(1, capacity / 10) : capacity);
            int errors = chance.Geometric(0.35);
            for (int k = 0; k < errors; k++)
            {
                long run = Math.Min(RunLength(chance), capacity - at);
                yield return (at, run);
                at = Next(at, capacity, chance);
            }
        }
    }

    private static long Next(long at, long capacity, Chance chance)
    {
        double which = chance.Unit();
        if (which >= 0.9)
            return chance.Below(capacity);
        long distance = (long)(which < 0.7 ? chance.LogBetween(1, 100) : chance.LogBetween(100, 20_480));
        return (at + distance) % capacity;
    }

    /// <summary>One sector in 98 of 100 cases, else a Pareto length from 2 to 4096 by inverse transform.</summary>
    private static long RunLength(Chance chance)
    {
        const double Shape = 1.2;
        if (chance.Happens(0.98))
            return 1;
        double most = Math.Pow(2, -Shape), least = Math.Pow(4096, -Shape);
        return (long)Math.Pow(most - (chance.Unit() * (most - least)), -1 / Shape);
    }
}
