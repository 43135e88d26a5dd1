namespace Turnstone.Findings.Tests;

public class VisibleTextTests
{
    [Theory]
    [InlineData("plain name.txt", "plain name.txt")]
    [InlineData("Ærø Öl 東京", "Ærø Öl 東京")]
    [InlineData("bell\u0007 esc\u001b[31m", @"bell\u0007 esc\u001B[31m")]
    [InlineData("photo\u202Egpj.exe", @"photo\u202Egpj.exe")]
    [InlineData("a\\b", @"a\\b")]
    [InlineData("tag \U000E0041", @"tag \U000E0041")]
    [InlineData("family \U0001F468\u200D\U0001F469", "family \U0001F468\u200D\U0001F469")]
    public void What_steers_or_hides_is_written_out(string name, string visible) => Assert.Equal(visible, VisibleText.Of(name));

    [Fact]
    public void Half_a_character_is_written_out() => Assert.Equal(@"half \uD83D pair", VisibleText.Of("half \uD83D pair"));

    [Fact]
    public void Any_text_comes_back_from_what_is_shown() =>
        Gen.Char.Array[0, 30].Select(chars => new string(chars)).Sample(text => VisibleText.Parse(VisibleText.Of(text)) == text);

    [Theory]
    [InlineData(@"\")]
    [InlineData(@"\x41")]
    [InlineData(@"\u12")]
    [InlineData(@"\U00110000")]
    public void What_was_never_written_so_is_refused(string text) => Assert.Throws<FormatException>(() => VisibleText.Parse(text));
}
