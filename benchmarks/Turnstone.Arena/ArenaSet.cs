using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Arena;

/// <summary>One strategy on one patient, beside the bound of that patient.</summary>
internal sealed record Bout(string Family, ulong Seed, TimeSpan Horizon, ClairvoyantBound Bound, RehearsalResult Result)
{
    /// <summary>Area under the curve against the bound's.</summary>
    public double AreaShare(ValueKind kind) => Share(Result.Area(kind, Horizon), Bound.Area(kind, Horizon));

    /// <summary>Value at the end of the time against the most that the bound can have by then.</summary>
    public double EndShare(ValueKind kind) => Share(RehearsalResult.Of(Result.End, kind), Bound.At(kind, Horizon));

    private static double Share(double value, double most) => most > 0 ? value / most : 1;
}

/// <summary>Families x seeds x strategies.</summary>
internal sealed record ArenaSet(string Name, double Gigabytes, int Seeds, IReadOnlyList<Family> Families)
{
    /// <summary>Everybody who takes part. A planner joins here.</summary>
    public static IReadOnlyList<IStrategy> Strategies => Patients.Rehearsals.Strategies.References;

    public IReadOnlyList<Bout> Run(Action<string> progress)
    {
        (Family Family, ulong Seed)[] patients = [.. Families.SelectMany(f => Enumerable.Range(1, Seeds).Select(s => (f, (ulong)s)))];
        var bouts = new Bout[patients.Length * Strategies.Count];
        Parallel.For(0, patients.Length, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
        {
            (Family family, ulong seed) = patients[i];
            Scenario scenario = family.Make(seed, Gigabytes);
            ClairvoyantBound bound = Rehearsal.Bound(scenario);
            // Twice what the bound needs for all bytes: enough for a good plan to end, too little to wait for a dead head.
            TimeSpan horizon = 2 * bound.TimeTo(ValueKind.Bytes, 1);
            for (int s = 0; s < Strategies.Count; s++)
                bouts[(i * Strategies.Count) + s] = new Bout(family.Name, seed, horizon, bound, Rehearsal.Run(scenario, Strategies[s], horizon));
            progress($"{family.Name} {seed}");
        });
        return bouts;
    }
}
