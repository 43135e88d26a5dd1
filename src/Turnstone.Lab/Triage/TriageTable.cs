using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Triage;

/// <summary>What may have failed first: the thing that has to be dealt with before anything else.</summary>
public enum Failure
{
    /// <summary>Heads lie on a surface and hold the spindle.</summary>
    StuckHeads,

    /// <summary>The bearing or the motor doesn't let the spindle turn.</summary>
    SeizedSpindle,

    /// <summary>A head or the preamplifier gives no signal.</summary>
    FailedHeads,

    /// <summary>A surface is scratched or has a ring.</summary>
    SurfaceDamage,

    /// <summary>The board.</summary>
    Electronics,

    /// <summary>The drive's own program or its service area.</summary>
    Firmware,

    /// <summary>Areas that don't read any more, on a drive that otherwise works.</summary>
    BadSectors,

    /// <summary>The drive works; its file system doesn't, or files were deleted.</summary>
    Logical,

    /// <summary>The board between the drive and USB, or the encryption that it does.</summary>
    Bridge,

    /// <summary>It was under water.</summary>
    Water,

    /// <summary>It was in a fire.</summary>
    Fire,

    /// <summary>None of the above. It keeps every other answer below certainty.</summary>
    SomethingElse,
}

/// <summary>The table that triage computes with; a laboratory edits it.</summary>
public sealed record TriageTable
{
    /// <summary>Name of the table's file.</summary>
    public const string File = "triage.json";

    /// <summary>Where the numbers come from.</summary>
    public required string Source { get; init; }

    /// <summary>How many closed cases a row of chances is worth against the lab's own.</summary>
    public required double RowWeight { get; init; }

    /// <summary>How many closed cases the row of first chances is worth.</summary>
    public required double FirstWeight { get; init; }

    /// <summary>A step whose chance of harm is above this is forbidden.</summary>
    public required Probability HarmLimit { get; init; }

    /// <summary>A check whose chance of harm is at or below this counts as harmless.</summary>
    public required Probability Harmless { get; init; }

    /// <summary>A harmless check that is expected to tell at least this many bits goes before any harmful one.</summary>
    public required double WorthAskingBits { get; init; }

    /// <summary>How many bits must be learnt to outweigh a certain loss of the patient.</summary>
    public required double BitsPerLoss { get; init; }

    /// <summary>Each failure once.</summary>
    public required IReadOnlyList<FailureRow> Failures { get; init; }

    /// <summary>What may be asked.</summary>
    public required IReadOnlyList<Question> Questions { get; init; }

    /// <summary>What may be done to learn an answer.</summary>
    public required IReadOnlyList<Check> Checks { get; init; }

    /// <summary>What else somebody may be tempted to do.</summary>
    public required IReadOnlyList<Step> Steps { get; init; }

    /// <summary>Answers that change the outlook.</summary>
    public required IReadOnlyList<OutlookFactor> OutlookFactors { get; init; }

    /// <summary>Reads the table.</summary>
    public static Understood<TriageTable> Read(TableShelf shelf) => shelf.Read<TriageTable>(File, TriageTableRules.Check);

    internal FailureRow Row(Failure failure) => Failures.First(r => r.Failure == failure);

    internal Question? Find(string question) => Questions.FirstOrDefault(q => q.Name == question);
}

/// <summary>One failure.</summary>
/// <param name="Failure">Which.</param>
/// <param name="First">Its chance before anything is known; all of them sum to 1.</param>
/// <param name="Outlook">The chance that the client's files come back when this is the failure and nothing was made worse.</param>
/// <param name="Means">What it is, in a sentence.</param>
public sealed record FailureRow(Failure Failure, Probability First, Probability Outlook, string Means);

/// <summary>A question with its answers.</summary>
/// <param name="Name">A short name, like 'sound'.</param>
/// <param name="Asks">The question in full.</param>
/// <param name="Answers">What may be answered.</param>
/// <param name="Chances">For each failure, how probable each answer is, in the order of the answers. Each row sums to 1.</param>
public sealed record Question(string Name, string Asks, IReadOnlyList<string> Answers, IReadOnlyDictionary<Failure, IReadOnlyList<Probability>> Chances);

/// <summary>A way to learn the answer to a question.</summary>
/// <param name="Name">What is done.</param>
/// <param name="Answers">The question that it answers.</param>
/// <param name="Takes">How long it takes.</param>
/// <param name="Harm">How probable it is that doing it makes the patient worse, by failure; failures not named: not at all.</param>
/// <param name="Caution">What to mind while doing it.</param>
public sealed record Check(string Name, string Answers, TimeSpan Takes, IReadOnlyDictionary<Failure, Probability> Harm, string Caution)
{
    /// <summary>Answers that make the check pointless, by question: nobody heard a drive that had no power.</summary>
    public IReadOnlyDictionary<string, string> Unless { get; init; } = new Dictionary<string, string>();
}

/// <summary>Something that is often done and may do harm.</summary>
/// <param name="Name">What.</param>
/// <param name="Harm">How probable it is that doing it makes the patient worse, by failure.</param>
/// <param name="Because">Why, by failure, such as 'heads may be on the surface'.</param>
public sealed record Step(string Name, IReadOnlyDictionary<Failure, Probability> Harm, IReadOnlyDictionary<Failure, string> Because);

/// <summary>An answer that changes the outlook.</summary>
/// <param name="Question">Name of the question.</param>
/// <param name="Answer">The answer.</param>
/// <param name="Failure">For which failure.</param>
/// <param name="Factor">What the outlook is multiplied by.</param>
public sealed record OutlookFactor(string Question, string Answer, Failure Failure, Probability Factor);
