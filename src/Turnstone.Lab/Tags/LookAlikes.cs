namespace Turnstone.Lab.Tags;

/// <summary>Characters that a tired eye takes for one another.</summary>
public static class LookAlikes
{
    // Common practice, no source; the same groups that hand-written codes avoid.
    private static readonly string[] Groups = ["0ODQ", "1IL", "2Z", "5S", "6G", "8B", "UV"];

    /// <summary>The mark with each character put in place by the first one of its look-alikes.</summary>
    public static string Folded(string mark) => string.Concat(mark.Select(Fold));

    /// <summary>Which characters of the mark are easily taken for another one, like '0 (O, D, Q)'.</summary>
    public static IReadOnlyList<string> In(string mark) =>
        [.. mark.Distinct().Where(c => Groups.Any(g => g.Contains(c))).Select(c => $"{c} ({string.Join(", ", Groups.First(g => g.Contains(c)).Where(o => o != c))})")];

    private static char Fold(char c) => Groups.FirstOrDefault(g => g.Contains(c))?[0] ?? c;
}
