namespace Turnstone.House;

/// <summary>A method fits on a screen and a file is no book. What was longer when the rule came is listed and may only shrink.</summary>
public class SizeTests
{
    private const int MethodLinesMax = 40, FileLinesMax = 260;

    // Verbs declare their options in one place; a longer declaration is not harder to read.
    private static readonly HashSet<string> LongerOnPurpose = new(StringComparer.Ordinal)
    {
    };

    [Fact]
    public void Methods_fit_on_a_screen() => Expect.None(Sources.Files("src")
        .SelectMany(file => Sources.Methods(file, Sources.Text(file)))
        .Where(method => method.Lines > MethodLinesMax && !LongerOnPurpose.Contains($"{method.File} {method.Name}"))
        .Select(method => $"{method.File} {method.Name}: {method.Lines} lines, a screen has {MethodLinesMax}"));

    [Fact]
    public void Files_need_no_table_of_contents() => Expect.None(Sources.Files("src")
        .Select(file => (file, Lines: Sources.Text(file).Count(c => c == '\n')))
        .Where(found => found.Lines > FileLinesMax && !LongerOnPurpose.Contains(found.file))
        .Select(found => $"{found.file}: {found.Lines} lines, at most {FileLinesMax}"));

    [Fact]
    public void A_method_that_does_not_fit_is_seen()
    {
        string text = $"class A {{ void B() {{{new string('\n', 50)}}} }}";
        Assert.Equal(51, Assert.Single(Sources.Methods("A.cs", text)).Lines);
    }
}
