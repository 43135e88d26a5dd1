using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Rehearsals;

/// <summary>Reads a described drive in virtual time, to see what a plan would bring before the real one is risked.</summary>
public static class Rehearsal
{
    /// <summary>Runs one strategy on a fresh patient.</summary>
    /// <param name="scenario">The patient.</param>
    /// <param name="strategy">How to read it.</param>
    /// <param name="budget">Virtual time that it may take.</param>
    public static RehearsalResult Run(Scenario scenario, IStrategy strategy, TimeSpan budget)
    {
        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(budget, TimeSpan.Zero);
        using var patient = Blank(scenario);
        var bed = new Bedside(patient, new WorthMap(patient, scenario), budget);
        strategy.Run(bed);
        return bed.Result(strategy);
    }

    /// <summary>The upper bound that no strategy can beat.</summary>
    public static ClairvoyantBound Bound(Scenario scenario)
    {
        using var patient = Blank(scenario);
        return new ClairvoyantBound(patient, new WorthMap(patient, scenario), scenario);
    }

    /// <summary>A rehearsal moves no bytes, so an image behind the drive need not be there.</summary>
    private static Patient Blank(Scenario scenario) => new(scenario with { Content = new Contents.ContentSpec.Seeded() });
}
