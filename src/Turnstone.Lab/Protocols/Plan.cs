using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Protocols;

/// <summary>The steps for one patient, in order.</summary>
/// <param name="Title">Name of the protocol.</param>
/// <param name="Failure">What is treated.</param>
/// <param name="Source">Where the protocol comes from.</param>
/// <param name="Cautions">What holds all the time.</param>
/// <param name="Steps">What is done.</param>
public sealed record Plan(string Title, Failure Failure, string Source, IReadOnlyList<string> Cautions, IReadOnlyList<ProtocolStep> Steps)
{
    /// <summary>Digest of the plan as it stands: a signature belongs to this text and to no other.</summary>
    public Sha256Digest Digest => Sha256Digest.Of(System.Text.Json.JsonSerializer.Serialize(
        new { Title, Failure, Steps }, LabJson.OneLine));

    /// <summary>How long all steps take together.</summary>
    public TimeSpan Takes => Steps.Aggregate(TimeSpan.Zero, (sum, s) => sum + s.Takes);

    /// <summary>What is used up, by name.</summary>
    public IReadOnlyList<Use> Uses => [.. Steps.SelectMany(s => s.Uses).GroupBy(u => u.Item).Select(g => new Use(g.Key, g.Sum(u => u.Count))).OrderBy(u => u.Item, StringComparer.Ordinal)];

    /// <summary>Parts that come off, in that order.</summary>
    public IReadOnlyList<string> Parts => [.. Steps.SelectMany(s => s.Tags)];

    /// <summary>Makes the plan for a failure and a drive.</summary>
    /// <param name="shelf">The lab's protocols.</param>
    /// <param name="failure">What is treated.</param>
    /// <param name="build">How the drive is built and found.</param>
    /// <returns>The plan, or what is wrong: no protocol for the failure, or one that breaks a rule that every plan must keep.</returns>
    public static Understood<Plan> Make(TableShelf shelf, Failure failure, DriveBuild build) => Protocol.ReadAll(shelf).Then(all =>
    {
        (string file, Protocol? protocol) = all.FirstOrDefault(p => p.Protocol.Failures.Contains(failure));
        if (protocol is null)
            return Wrong("protocol-*.json", 0, "", $"no protocol is for '{Words.Of(failure)}'; understand the fault first, or write one");
        IReadOnlySet<Circumstance> circumstances = build.Circumstances;
        ProtocolStep[] steps = [.. protocol.Steps.Where(s => s.When.All(circumstances.Contains) && !s.Unless.Any(circumstances.Contains))];
        if (PlanRules.FirstBroken(steps, circumstances) is not { } broken)
            return new Understood<Plan>.Value(new Plan(protocol.Title, failure, protocol.Source, protocol.Cautions, steps));
        string where = $"steps[{protocol.Steps.ToList().IndexOf(steps[broken.Step])}]";
        return Wrong(file, JsonLines.LineOf(shelf[file], where), where, $"step '{steps[broken.Step].Name}': {broken.What}");
    });

    private static Understood<Plan> Wrong(string file, int line, string where, string what) => new Understood<Plan>.Wrong(new Fault(file, line, where, what));
}
