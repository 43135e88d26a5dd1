using System.Diagnostics;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Protocols;

/// <summary>A step that somebody did and signed for. It goes to the ledger as it is.</summary>
/// <param name="Case">What the case is called.</param>
/// <param name="Step">Name of the step.</param>
/// <param name="Who">Who signed.</param>
/// <param name="When">When, by the clock that was handed in; never used for order.</param>
/// <param name="Plan">Digest of the plan that the signature belongs to.</param>
/// <param name="Photos">Photos that belong to it, in the order before, after.</param>
public sealed record SignedStep(string Case, string Step, string Who, DateTimeOffset When, Sha256Digest Plan, IReadOnlyList<Photo> Photos);

/// <summary>A photo that was kept.</summary>
/// <param name="Name">Its file name.</param>
/// <param name="Digest">Of its bytes.</param>
public sealed record Photo(string Name, Sha256Digest Digest);

/// <summary>How a step stands.</summary>
/// <param name="Step">The step.</param>
/// <param name="Signed">The signature; null where there is none.</param>
/// <param name="WaitsFor">Why it may not be done yet; null for the next step and for signed ones.</param>
public sealed record Standing(ProtocolStep Step, SignedStep? Signed, string? WaitsFor);

/// <summary>What came of signing.</summary>
public abstract record Signing
{
    private Signing()
    {
    }

    /// <summary>It is signed.</summary>
    /// <param name="Step">What goes to the ledger.</param>
    public sealed record Done(SignedStep Step) : Signing;

    /// <summary>It can't be signed now.</summary>
    /// <param name="Why">The reason and what to do.</param>
    public sealed record Refused(string Why) : Signing;

    /// <summary>Runs the function that belongs to the case.</summary>
    public T Match<T>(Func<SignedStep, T> done, Func<string, T> refused) => this switch
    {
        Done d => done(d.Step),
        Refused r => refused(r.Why),
        _ => throw new UnreachableException(),
    };
}

/// <summary>Which steps of a plan are done, which one is next, which ones wait.</summary>
public static class Signatures
{
    /// <summary>How each step stands.</summary>
    /// <param name="plan">The plan.</param>
    /// <param name="signed">What was signed so far, in order; signatures for another plan don't count.</param>
    public static IReadOnlyList<Standing> Of(Plan plan, IReadOnlyList<SignedStep> signed)
    {
        Sha256Digest digest = plan.Digest;
        var byStep = signed.Where(s => s.Plan == digest).GroupBy(s => s.Step).ToDictionary(g => g.Key, g => g.First());
        var standings = new List<Standing>();
        string? waits = null;
        foreach (ProtocolStep step in plan.Steps)
        {
            SignedStep? signature = byStep.GetValueOrDefault(step.Name);
            standings.Add(new Standing(step, signature, signature is null ? waits : null));
            if (signature is null && (waits is null || (step.Hold is not null && !waits.StartsWith("hold", StringComparison.Ordinal))))
                waits = step.Hold is null ? $"'{step.Name}' comes first" : $"hold point '{step.Name}' is not signed";
        }

        return standings;
    }

    /// <summary>Signs a step.</summary>
    /// <param name="plan">The plan.</param>
    /// <param name="signed">What was signed so far.</param>
    /// <param name="signature">Who signs what when, with which photos; its plan digest must be this plan's.</param>
    public static Signing Sign(Plan plan, IReadOnlyList<SignedStep> signed, SignedStep signature)
    {
        Standing? standing = Of(plan, signed).FirstOrDefault(s => s.Step.Name == signature.Step);
        string? why = standing switch
        {
            null => $"'{signature.Step}' is no step of this plan; steps are {string.Join(", ", plan.Steps.Select(s => s.Name))}",
            { Signed: { } earlier } => $"'{signature.Step}' was signed by {earlier.Who} before",
            { WaitsFor: { } reason } => $"'{signature.Step}' has to wait: {reason}",
            _ when signature.Plan != plan.Digest => "the signature belongs to another plan",
            _ when signature.Who.Trim().Length == 0 => "a signature needs the name of a person",
            _ => PhotosMissing(standing.Step, signature),
        };
        return why is null ? new Signing.Done(signature) : new Signing.Refused(why);
    }

    private static string? PhotosMissing(ProtocolStep step, SignedStep signature) => step.Photos && signature.Photos.Select(p => p.Digest).Distinct().Count() < 2
        ? $"'{step.Name}' needs two different photos: the surface before and after cleaning"
        : null;
}
