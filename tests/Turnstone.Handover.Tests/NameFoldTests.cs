using System.Globalization;
using System.Text;

namespace Turnstone.Handover.Tests;

public class NameFoldTests
{
    [Theory]
    [InlineData("\u00e9", "e\u0301")]
    [InlineData("É", "e\u0301")]
    [InlineData("ς", "Σ")]
    [InlineData("ς", "σ")]
    [InlineData("straße", "STRASSE")]
    [InlineData("\u212A", "k")]
    [InlineData("\uAC01", "\u1100\u1161\u11A8")]
    [InlineData("a\u0323\u0307", "a\u0307\u0323")]
    [InlineData("\U00010400", "\U00010428")]
    public void Names_that_another_system_takes_for_one_have_one_key(string left, string right) => Assert.Equal(NameFold.Key(left), NameFold.Key(right));

    [Theory]
    [InlineData("e", "é")]
    [InlineData("a b", "ab")]
    public void Other_names_have_different_keys(string left, string right) => Assert.NotEqual(NameFold.Key(left), NameFold.Key(right));

    [Fact]
    public void The_runtime_does_not_normalize_by_itself_here() =>
        // The reason for our own tables: should this fail one day, they can go.
        Assert.Equal("e\u0301", "e\u0301".Normalize(NormalizationForm.FormC));

    // Unicode Character Database, NormalizationTest.txt (Debian package unicode-data): c3 == NFD(c1) == NFD(c2) == NFD(c3), c5 == NFD(c4) == NFD(c5).
    [Fact]
    public void Every_line_of_the_standards_own_test_comes_out()
    {
        (int code, string text) = Tool.Bash("/", "bzcat /usr/share/unicode/NormalizationTest.txt.bz2");
        Assert.True(code == 0, "install the Debian packages unicode-data and bzip2: " + text);
        string[][] lines = [.. text.Split('\n').Select(line => line.Split('#')[0].Split(';')).Where(fields => fields.Length > 5).Select(fields => fields[..5].Select(Text).ToArray())];
        Assert.True(lines.Length > 18_000);
        Assert.All(lines, c => Assert.Equal((c[2], c[2], c[2], c[4], c[4]), (NameFold.Decomposed(c[0]), NameFold.Decomposed(c[1]), NameFold.Decomposed(c[2]), NameFold.Decomposed(c[3]), NameFold.Decomposed(c[4]))));
    }

    private static string Text(string points) => string.Concat(points.Trim().Split(' ').Select(point => new Rune(int.Parse(point, NumberStyles.AllowHexSpecifier)).ToString()));
}
