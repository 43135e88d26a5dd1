using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>What is claimed of the air.</summary>
/// <param name="Class">The class.</param>
/// <param name="Sizes">At which sizes.</param>
/// <param name="Area">Of the face or room.</param>
/// <param name="Flow">What the counter draws.</param>
/// <param name="Edition">By which edition.</param>
public sealed record AirClaim(IsoClass Class, IReadOnlyList<Length> Sizes, Area Area, Flow Flow, Edition Edition);

/// <summary>How the air stands at one size.</summary>
/// <param name="Size">Particles of this size and larger.</param>
/// <param name="WorstPlace">The place with the highest average.</param>
/// <param name="Worst">That average.</param>
/// <param name="UpTo">What that place's counts are still compatible with, 95 % one-sided: zero counted is not zero particles.</param>
/// <param name="Limit">The claim's limit.</param>
/// <param name="ConfidenceLimit">Upper confidence limit of the mean of averages (1999 only, two to nine places).</param>
/// <param name="CorrespondsTo">The cleanest class whose limit the worst average keeps; null where none does.</param>
/// <param name="Claimable">The cleanest class that the counted volume also suffices for; null where none.</param>
/// <param name="Passes">Whether the claim holds at this size.</param>
public sealed record SizeVerdict(
    Length Size, string WorstPlace, Concentration Worst, Concentration UpTo, Concentration Limit,
    Concentration? ConfidenceLimit, IsoClass? CorrespondsTo, IsoClass? Claimable, bool Passes);

/// <summary>Whether a reading bears a claim.</summary>
/// <param name="Plan">What the claim asks for.</param>
/// <param name="Sizes">How it stands at each size.</param>
/// <param name="Missing">What the reading lacks for any claim: places, volume, sizes. Empty where nothing.</param>
public sealed record AirReport(SamplingPlan Plan, IReadOnlyList<SizeVerdict> Sizes, IReadOnlyList<string> Missing)
{
    /// <summary>Whether the class may be claimed.</summary>
    public bool Holds => Missing.Count == 0 && Sizes.All(s => s.Passes);

    /// <summary>The verdict in a sentence.</summary>
    public string Sentence => Missing.Count > 0
        ? $"No claim can be made: {string.Join("; ", Missing)}."
        : Holds ? $"ISO class {Plan.Class} holds at {string.Join(" and ", Plan.Sizes.Select(s => $"{s.Micrometres:0.##} µm"))}."
        : $"ISO class {Plan.Class} does not hold: {string.Join("; ", Sizes.Where(s => !s.Passes).Select(Why))}.";

    private static string Why(SizeVerdict s) => s.Worst.PerCubicMetre > s.Limit.PerCubicMetre
        ? $"{s.WorstPlace} has {s.Worst.PerCubicMetre:0} /m³ of {s.Size.Micrometres:0.##} µm and larger, the limit is {s.Limit.PerCubicMetre:0}"
        : $"the upper confidence limit at {s.Size.Micrometres:0.##} µm is {s.ConfidenceLimit?.PerCubicMetre:0} /m³, the limit is {s.Limit.PerCubicMetre:0}";

    /// <summary>Judges a reading.</summary>
    /// <param name="table">Limits and places.</param>
    /// <param name="reading">What was counted.</param>
    /// <param name="claim">What is claimed.</param>
    /// <param name="report">The judgement, where the claim can be judged.</param>
    /// <returns>Why the claim can't even be judged (a blank cell of the table, sizes too near); null where it can.</returns>
    /// <remarks>2015: the average at every place keeps the limit of every size (A.6, from memory). 1999: also the upper confidence limit, with two to nine places.</remarks>
    public static string? TryJudge(AirTable table, AirReading reading, AirClaim claim, out AirReport? report)
    {
        report = null;
        if (SamplingPlan.TryMake(table, claim.Area, claim.Class, claim.Sizes, claim.Flow, claim.Edition, out SamplingPlan? plan) is { } wrong)
            return wrong;
        foreach (Length size in plan!.Sizes.Where(s => IndexIn(reading, s) < 0))
            return $"the reading has no counts at {size.Micrometres:0.##} µm; it has {string.Join(", ", reading.Sizes.Select(s => $"{s.Micrometres:0.##} µm"))}";
        report = new AirReport(plan, [.. plan.Sizes.Select((s, i) => Verdict(table, reading, claim, s, plan.Limits[i]))], [.. Lacking(plan, reading)]);
        return null;
    }

    private static IEnumerable<string> Lacking(SamplingPlan plan, AirReading reading)
    {
        int places = reading.Samples.Select(s => s.Place).Distinct().Count();
        if (places < plan.Locations)
            yield return $"{Words.Count(places, "place")} sampled, {plan.Locations} are needed";
        AirSample least = reading.Samples.MinBy(s => s.Volume.CubicMetres)!;
        if (least.Volume.CubicMetres < plan.Volume.CubicMetres * (1 - 1e-9))
            yield return $"{least.Volume.Litres:0.##} L were counted at {least.Place}, {plan.Volume.Litres:0.00} L are needed at {plan.Sizes[^1].Micrometres:0.##} µm";
    }

    private static SizeVerdict Verdict(AirTable table, AirReading reading, AirClaim claim, Length size, Concentration limit)
    {
        IReadOnlyList<PlaceAverage> averages = reading.Averages(IndexIn(reading, size));
        PlaceAverage worst = averages.MaxBy(a => a.PerCubicMetre)!;
        double leastVolume = reading.Samples.Min(s => s.Volume.CubicMetres);
        IsoClass[] kept = [.. IsoClass.All.Where(c => c.Limit(table, size, claim.Edition) is { } l && worst.PerCubicMetre <= l.PerCubicMetre)];
        IsoClass[] claimable = [.. kept.Where(c => SamplingPlan.LeastVolume(c.Limit(table, size, claim.Edition)!.Value).CubicMetres <= leastVolume * (1 + 1e-9))];
        Concentration? upper = claim.Edition == Edition.Iso1999 ? UpperConfidence(averages) : null;
        return new SizeVerdict(
            size, worst.Place, new Concentration(worst.PerCubicMetre), new Concentration(Poisson.UpperBound95(worst.Counts) / worst.Volume.CubicMetres), limit, upper,
            kept.Length > 0 ? kept[0] : null, claimable.Length > 0 ? claimable[0] : null,
            worst.PerCubicMetre <= limit.PerCubicMetre && (upper is null || upper.Value.PerCubicMetre <= limit.PerCubicMetre));
    }

    // ISO 14644-1:1999 Annex C, Table C.1 (from memory): one-sided 95 % Student t, rounded, for 2 to 9 places.
    private static Concentration? UpperConfidence(IReadOnlyList<PlaceAverage> averages)
    {
        int places = averages.Count;
        if (places is < 2 or > 9)
            return null;
        double t = places switch { 2 => 6.3, 3 => 2.9, 4 => 2.4, 5 => 2.1, 6 => 2.0, _ => 1.9 };
        double mean = averages.Average(a => a.PerCubicMetre);
        double deviation = Math.Sqrt(averages.Sum(a => Math.Pow(a.PerCubicMetre - mean, 2)) / (places - 1));
        return new Concentration(mean + (t * deviation / Math.Sqrt(places)));
    }

    private static int IndexIn(AirReading reading, Length size) => reading.Sizes.ToList().FindIndex(s => Math.Abs((s.Metres / size.Metres) - 1) < 1e-6);
}
