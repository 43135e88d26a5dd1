using Turnstone.Lab.Documents;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Protocols;

/// <summary>How a failure is treated: all steps for all ways in which a drive may be built. A file that a lab edits.</summary>
public sealed record Protocol
{
    /// <summary>Where it comes from.</summary>
    public required string Source { get; init; }

    /// <summary>Its name for people.</summary>
    public required string Title { get; init; }

    /// <summary>Which failures it is for.</summary>
    public required IReadOnlyList<Failure> Failures { get; init; }

    /// <summary>What holds all the time.</summary>
    public required IReadOnlyList<string> Cautions { get; init; }

    /// <summary>The steps, in order.</summary>
    public required IReadOnlyList<ProtocolStep> Steps { get; init; }

    /// <summary>Reads every protocol on the shelf; its file name beside it.</summary>
    public static Understood<IReadOnlyList<(string File, Protocol Protocol)>> ReadAll(TableShelf shelf)
    {
        var all = new List<(string, Protocol)>();
        foreach (string file in shelf.Files.Where(f => f.StartsWith("protocol-", StringComparison.Ordinal)))
        {
            Understood<Protocol> read = shelf.Read<Protocol>(file, Check);
            if (read is Understood<Protocol>.Wrong wrong)
                return new Understood<IReadOnlyList<(string, Protocol)>>.Wrong(wrong.Fault);
            all.Add((file, read.Match(p => p, _ => throw new System.Diagnostics.UnreachableException())));
        }

        return new Understood<IReadOnlyList<(string, Protocol)>>.Value(all);
    }

    private static IEnumerable<Complaint> Check(Protocol protocol)
    {
        if (protocol.Source.Length == 0)
            yield return new("source", "says nothing; name where the protocol comes from");
        for (int i = 0; i < protocol.Steps.Count; i++)
        {
            ProtocolStep step = protocol.Steps[i];
            if (protocol.Steps.Take(i).Any(s => s.Name == step.Name))
                yield return new($"steps[{i}].name", $"'{step.Name}' is the name of two steps");
            foreach (Use use in step.Uses.Where(u => u.Count < 1))
                yield return new($"steps[{i}].uses", $"{use.Count} of '{use.Item}'; expected at least 1");
        }
    }
}

/// <summary>One step.</summary>
/// <param name="Name">A short name that no other step of the protocol has.</param>
/// <param name="Do">What is done, as an order.</param>
/// <param name="Takes">How long it takes.</param>
public sealed record ProtocolStep(string Name, string Do, TimeSpan Takes)
{
    /// <summary>All of these must hold for the step to be in the plan.</summary>
    public IReadOnlyList<Circumstance> When { get; init; } = [];

    /// <summary>None of these may hold.</summary>
    public IReadOnlyList<Circumstance> Unless { get; init; } = [];

    /// <summary>What it takes.</summary>
    public IReadOnlyList<string> Tools { get; init; } = [];

    /// <summary>What to mind.</summary>
    public IReadOnlyList<string> Cautions { get; init; } = [];

    /// <summary>What it uses up.</summary>
    public IReadOnlyList<Use> Uses { get; init; } = [];

    /// <summary>Parts that come off and are tagged as they do.</summary>
    public IReadOnlyList<string> Tags { get; init; } = [];

    /// <summary>What it does to the drive, for the rules that every plan must keep.</summary>
    public IReadOnlyList<Mark> Marks { get; init; } = [];

    /// <summary>Where the step is a hold point: what somebody signs for. Nothing after it may be done before.</summary>
    public string? Hold { get; init; }

    /// <summary>Whether a photo before and one after belong to the signature.</summary>
    public bool Photos { get; init; }
}

/// <summary>Something used up.</summary>
/// <param name="Item">What, by the name in the cost table.</param>
/// <param name="Count">How many.</param>
public sealed record Use(string Item, int Count);

/// <summary>What a step does to the drive.</summary>
public enum Mark
{
    /// <summary>The lid comes off.</summary>
    OpensLid,

    /// <summary>The ramp comes out.</summary>
    RemovesRamp,

    /// <summary>Heads stuck to a surface are freed.</summary>
    ReleasesHeads,

    /// <summary>Heads of a donor, or the drive's own that were never stuck, go in.</summary>
    FitsHeads,

    /// <summary>Somebody saw that the donor's heads work.</summary>
    HeadsProven,

    /// <summary>Somebody saw that the surface is clean.</summary>
    SurfaceSeenClean,

    /// <summary>The lid goes on.</summary>
    ClosesLid,

    /// <summary>Power.</summary>
    AppliesPower,

    /// <summary>ROM and service area were saved twice and both copies agree.</summary>
    SavedTwice,

    /// <summary>Something is written to the drive's own firmware.</summary>
    WritesFirmware,
}
