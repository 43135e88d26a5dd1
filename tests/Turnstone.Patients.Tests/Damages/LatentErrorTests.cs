using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;

namespace Turnstone.Patients.Tests.Damages;

/// <summary>The drawn bad sectors against the published field studies.</summary>
/// <remarks>
/// Bairavasundaram et al., An Analysis of Latent Sector Errors in Disk Drives, SIGMETRICS 2007 (abstract, and accounts of
/// it), and Schroeder, Damouras and Gill, Understanding Latent Sector Errors, FAST 2010 (an account of it). Their sectors are
/// 512 bytes; here a physical sector stands for one.
/// </remarks>
public sealed class LatentErrorTests
{
    private const long Capacity = 100_000_000;

    // 2007: 8.5 % of nearline drives have an error, 0.2 % have more than 1000; most of those affected have fewer than 50 (about 80 %, from memory).
    [Fact]
    public void Few_drives_have_any_few_of_those_have_many()
    {
        var chance = Chance.For(1, "population");
        long[] errors = [.. Enumerable.Range(0, 20_000).Select(_ => LatentErrors.Draw(LatentErrors.DrawClusters(chance), Capacity, chance).Sum(r => r.Count))];
        double affected = errors.Count(e => e > 0);
        Assert.Equal(0.085, affected / errors.Length, 0.025);
        Assert.InRange(errors.Count(e => e > 1000) / (double)errors.Length, 0.0005, 0.004);
        Assert.InRange(errors.Count(e => e is > 0 and < 50) / affected, 0.75, 0.95);
    }

    // 2010: fewer than 2.5 % of errors stand in runs of two or more (taken as: of all runs); a further error is mostly
    // within 100 sectors; 20 to 50 % of errors lie in the first tenth of the addresses.
    [Fact]
    public void Errors_are_single_and_near_each_other_and_more_often_at_the_start()
    {
        var chance = Chance.For(2, "clusters");
        (long First, long Count)[] runs = [.. LatentErrors.Draw(40_000, Capacity, chance)];
        Assert.InRange(runs.Count(r => r.Count > 1) / (double)runs.Length, 0.01, 0.025);
        Assert.InRange(runs.Count(r => r.First < Capacity / 10) / (double)runs.Length, 0.2, 0.5);
        double near = runs.Zip(runs.Skip(1), (a, b) => Math.Abs(b.First - a.First)).Count(d => d <= 100);
        // 1 / 0.35 errors a cluster: 0.65 of the steps stay inside one, and seven in ten of these are near.
        Assert.Equal(0.7 * 0.65, near / runs.Length, 0.02);
    }

    [Fact]
    public void No_run_leaves_the_drive() =>
        Gen.Select(Gen.ULong, Gen.Long[1, 10_000]).Sample((seed, capacity) =>
            LatentErrors.Draw(50, capacity, Chance.For(seed, "small")).All(r => 0 <= r.First && r.Count > 0 && r.First + r.Count <= capacity));
}
