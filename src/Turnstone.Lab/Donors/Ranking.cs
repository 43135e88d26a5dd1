using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>What one feature does for one donor.</summary>
/// <param name="Feature">Which.</param>
/// <param name="Count">Its count.</param>
/// <param name="LogOdds">What it adds to the log odds.</param>
/// <param name="Says">The full count in words.</param>
public sealed record Contribution(Feature Feature, double Count, double LogOdds, string Says);

/// <summary>A donor that may be tried.</summary>
/// <param name="Donor">Which.</param>
/// <param name="Works">The chance that it works.</param>
/// <param name="Range">The range of that chance.</param>
/// <param name="Because">Feature by feature, the strongest first.</param>
public sealed record RankedDonor(Donor Donor, Probability Works, ProbabilityRange Range, IReadOnlyList<Contribution> Because);

/// <summary>A donor that may not be tried.</summary>
/// <param name="Donor">Which.</param>
/// <param name="Because">Why not.</param>
public sealed record RuledOut(Donor Donor, IReadOnlyList<string> Because);

/// <summary>The shelf seen from one patient.</summary>
/// <param name="Ranked">What may be tried, the most likely to work first.</param>
/// <param name="RuledOut">What may not.</param>
/// <param name="Order">In which order to try, and when to stop.</param>
/// <param name="Outcomes">How many of the lab's own tries were counted in.</param>
public sealed record Ranking(IReadOnlyList<RankedDonor> Ranked, IReadOnlyList<RuledOut> RuledOut, TryOrder Order, int Outcomes)
{
    /// <summary>Ranks the shelf.</summary>
    /// <param name="table">What is believed beforehand.</param>
    /// <param name="outcomes">The lab's own tries.</param>
    /// <param name="stock">The shelf.</param>
    /// <param name="patient">The patient.</param>
    /// <param name="labour">What the work of one try costs.</param>
    /// <param name="value">What success is worth.</param>
    /// <exception cref="ArgumentException">Labour or value in another currency than the shelf's.</exception>
    public static Ranking Of(DonorTable table, Outcomes outcomes, Stock stock, PatientDrive patient, Money labour, Money value)
    {
        LogisticBelief belief = outcomes.Belief(table);
        var all = stock.Donors.Select(d => (Donor: d, Agreement: Agreement.Of(table, patient, d))).ToList();
        RankedDonor[] ranked = [.. all.Where(d => d.Agreement.Conflicts.Count == 0).Select(d => Rated(table, belief, d.Donor, d.Agreement))
            .OrderByDescending(r => r.Works).ThenBy(r => r.Donor.Id, StringComparer.Ordinal)];
        return new Ranking(
            ranked, [.. all.Where(d => d.Agreement.Conflicts.Count > 0).Select(d => new RuledOut(d.Donor, d.Agreement.Conflicts))],
            TryOrder.Best([.. ranked.Select(r => BetOn(table, patient, r, labour + (table.CountShelfPrice ? r.Donor.Price : Money.None(labour.Currency))))], value),
            outcomes.Tries.Count);
    }

    /// <summary>The donor as a bet.</summary>
    /// <param name="table">What is believed beforehand.</param>
    /// <param name="patient">The patient.</param>
    /// <param name="ranked">The donor.</param>
    /// <param name="cost">What the try costs.</param>
    public static Bet BetOn(DonorTable table, PatientDrive patient, RankedDonor ranked, Money cost)
    {
        double loses = (patient.SurfaceMarked ? table.LosesPatient.SurfaceMarked : table.LosesPatient.SurfaceClean).Value;
        // What works hasn't lost the patient.
        return new Bet(ranked.Donor.Id, ranked.Works, new Probability(Math.Min(loses, 1 - ranked.Works.Value)), cost);
    }

    /// <summary>One donor, whether it stands on the shelf or is only on offer; null where it is ruled out.</summary>
    public static RankedDonor? Rate(DonorTable table, Outcomes outcomes, PatientDrive patient, Donor donor, out IReadOnlyList<string> conflicts)
    {
        Agreement agreement = Agreement.Of(table, patient, donor);
        conflicts = agreement.Conflicts;
        return conflicts.Count > 0 ? null : Rated(table, outcomes.Belief(table), donor, agreement);
    }

    private static RankedDonor Rated(DonorTable table, LogisticBelief belief, Donor donor, Agreement agreement)
    {
        double[] row = Donors.Outcomes.Row(table, agreement.Counts);
        return new RankedDonor(donor, belief.Chance(row), belief.Range(row),
            [.. table.Features.Select((f, i) => new Contribution(f.Feature, row[i + 1], row[i + 1] * belief.Weights[i + 1], f.Says))
                .Where(c => c.Count > 0).OrderByDescending(c => Math.Abs(c.LogOdds))]);
    }
}
