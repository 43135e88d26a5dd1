using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Donors;

/// <summary>How a donor did in a patient.</summary>
/// <param name="Donor">The lab's number of the donor.</param>
/// <param name="Case">The case.</param>
/// <param name="On">The day.</param>
/// <param name="Counts">How the two agreed when it was tried, so that a later edit of the shelf changes nothing.</param>
/// <param name="Worked">Whether its heads read in the patient.</param>
/// <param name="Note">In words: which heads read, how much before the next failure.</param>
public sealed record DonorOutcome(string Donor, string Case, DateOnly On, IReadOnlyDictionary<Feature, double> Counts, bool Worked, string Note);

/// <summary>All tries of the lab.</summary>
public sealed record Outcomes
{
    /// <summary>No try yet.</summary>
    public static Outcomes None { get; } = new() { Tries = [] };

    /// <summary>The tries, in order.</summary>
    public required IReadOnlyList<DonorOutcome> Tries { get; init; }

    /// <summary>Reads the tries.</summary>
    public static Understood<Outcomes> Read(string file, string text) => LabDocument.Read<Outcomes>(file, text, o => o.Check());

    /// <summary>What is believed after these tries.</summary>
    public LogisticBelief Belief(DonorTable table) => LogisticBelief.Learn(
        [table.BaseMean, .. table.Features.Select(f => f.Mean)],
        [table.BaseDeviation, .. table.Features.Select(f => f.Deviation)],
        [.. Tries.Select(t => (Row(table, t.Counts), t.Worked))]);

    internal static double[] Row(DonorTable table, IReadOnlyDictionary<Feature, double> counts) =>
        [1, .. table.Features.Select(f => counts.TryGetValue(f.Feature, out double count) ? count : f.Unknown.Value)];

    private IEnumerable<Complaint> Check()
    {
        for (int i = 0; i < Tries.Count; i++)
        {
            foreach ((Feature feature, double count) in Tries[i].Counts.Where(c => c.Value is not (>= 0 and <= 2)))
                yield return new($"tries[{i}].counts.{Words.Of(feature)}", $"{count}: a count lies between 0 and 2");
        }
    }
}
