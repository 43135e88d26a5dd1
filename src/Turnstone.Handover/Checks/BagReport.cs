namespace Turnstone.Handover;

/// <summary>How much a problem of a bag weighs.</summary>
public enum BagFault
{
    /// <summary>Something is absent, too many, or not written as RFC 8493 asks: the bag is not complete, and so not valid.</summary>
    NotComplete,

    /// <summary>A digest does not fit, or could not be checked: the bag is not valid.</summary>
    NotValid,

    /// <summary>Allowed, but worth a look.</summary>
    Warning,
}

/// <summary>One problem of a bag.</summary>
/// <param name="Fault">How much it weighs.</param>
/// <param name="File">The file of the bag in which it shows, as a path in the bag; empty for the bag itself.</param>
/// <param name="Line">Line in that file, counted from 1; 0 where it is no matter of a line.</param>
/// <param name="Message">What is wrong; names in it may hold any character, show them through <see cref="Turnstone.Findings.VisibleText"/>.</param>
public sealed record BagProblem(BagFault Fault, string File, int Line, string Message)
{
    /// <summary>File, line and message in one line that is safe for a terminal.</summary>
    public override string ToString()
    {
        string place = Line > 0 ? $"{File}:{Line}: " : File.Length > 0 ? $"{File}: " : "";
        return Findings.VisibleText.Of(place + Message);
    }
}

/// <summary>What a check of a bag found.</summary>
/// <param name="Version">BagIt version that the bag declares, or null where it declares none.</param>
/// <param name="Algorithms">Digests of its payload manifests.</param>
/// <param name="Files">Payload files that are there.</param>
/// <param name="Bytes">Bytes in them.</param>
/// <param name="Problems">Every problem, in a fixed order.</param>
public sealed record BagReport(string? Version, IReadOnlyList<string> Algorithms, long Files, long Bytes, IReadOnlyList<BagProblem> Problems)
{
    /// <summary>Whether all that the bag promises is there, and nothing else (RFC 8493, section 3).</summary>
    public bool IsComplete => Problems.All(problem => problem.Fault != BagFault.NotComplete);

    /// <summary>Whether it is complete and every digest fits.</summary>
    public bool IsValid => Problems.All(problem => problem.Fault == BagFault.Warning);
}
