using Turnstone.Patients.Rehearsals.References;

namespace Turnstone.Patients.Rehearsals;

/// <summary>The reference strategies, against which a planner is measured. A planner of another room joins them as an <see cref="IStrategy"/>.</summary>
public static class Strategies
{
    /// <summary>All references, plainest first.</summary>
    public static IReadOnlyList<IStrategy> References { get; } = [new LinearWithRetries(), new LinearWithSkip(), new SweepThenFill(), new Clairvoyant()];
}
