namespace Turnstone.Handover;

/// <summary>Collects the problems of one check.</summary>
internal sealed class ProblemList
{
    private readonly List<BagProblem> _problems = [];

    /// <summary>All problems: in the order of their files, then lines, then as they were found.</summary>
    public IReadOnlyList<BagProblem> InOrder() =>
        [.. _problems.OrderBy(problem => problem.File, StringComparer.Ordinal).ThenBy(problem => problem.Line)];

    /// <summary>Something that makes the bag incomplete.</summary>
    public void NotComplete(string file, int line, string message) => _problems.Add(new(BagFault.NotComplete, file, line, message));

    /// <summary>Something that makes the bag invalid.</summary>
    public void NotValid(string file, int line, string message) => _problems.Add(new(BagFault.NotValid, file, line, message));

    /// <summary>Something worth a look.</summary>
    public void Warning(string file, int line, string message) => _problems.Add(new(BagFault.Warning, file, line, message));

    /// <summary>Problems that were found elsewhere.</summary>
    public void Add(IEnumerable<BagProblem> problems) => _problems.AddRange(problems);
}
