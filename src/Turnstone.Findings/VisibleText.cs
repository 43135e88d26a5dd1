using System.Globalization;
using System.Text;

namespace Turnstone.Findings;

/// <summary>A client's name as it may be shown: what steers a terminal or hides in a line is written out.</summary>
/// <remarks>
/// Written as \uXXXX (\UXXXXXXXX above the first plane): control characters, line and paragraph separators, characters
/// that turn the direction of writing or show nothing, code units that are no character. A backslash is doubled, so
/// that <see cref="Parse"/> finds the very same name again.
/// </remarks>
public static class VisibleText
{
    /// <summary>The text with everything treacherous written out.</summary>
    public static string Of(string text)
    {
        if (!text.AsSpan().ContainsAnyExceptInRange(' ', '~') && !text.Contains('\\'))
            return text;
        var visible = new StringBuilder(text.Length + 16);
        for (int i = 0; i < text.Length;)
        {
            bool whole = Rune.TryGetRuneAt(text, i, out Rune rune);
            Append(visible, whole ? rune.Value : text[i], isCharacter: whole);
            i += whole ? rune.Utf16SequenceLength : 1;
        }

        return visible.ToString();
    }

    /// <summary>The text that <see cref="Of"/> was made from.</summary>
    /// <exception cref="FormatException">A backslash that starts none of \\, \uXXXX and \UXXXXXXXX.</exception>
    public static string Parse(string visible)
    {
        var text = new StringBuilder(visible.Length);
        for (int i = 0; i < visible.Length;)
            i += visible[i] == '\\' ? AppendEscaped(text, visible, i) : AppendPlain(text, visible[i]);
        return text.ToString();
    }

    /// <summary>Whether a character may mislead whoever looks at a line of text.</summary>
    public static bool IsTreacherous(Rune rune) => Rune.GetUnicodeCategory(rune) switch
    {
        UnicodeCategory.Control or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator
            or UnicodeCategory.Surrogate or UnicodeCategory.OtherNotAssigned => true,
        // The joiners shape letters in Persian, Hindi and emoji; the rest of the invisible ones only hide or turn text.
        UnicodeCategory.Format => rune.Value is not (0x200C or 0x200D),
        UnicodeCategory.UppercaseLetter or UnicodeCategory.LowercaseLetter or UnicodeCategory.TitlecaseLetter
            or UnicodeCategory.ModifierLetter or UnicodeCategory.OtherLetter or UnicodeCategory.NonSpacingMark
            or UnicodeCategory.SpacingCombiningMark or UnicodeCategory.EnclosingMark or UnicodeCategory.DecimalDigitNumber
            or UnicodeCategory.LetterNumber or UnicodeCategory.OtherNumber or UnicodeCategory.SpaceSeparator
            or UnicodeCategory.PrivateUse or UnicodeCategory.ConnectorPunctuation or UnicodeCategory.DashPunctuation
            or UnicodeCategory.OpenPunctuation or UnicodeCategory.ClosePunctuation or UnicodeCategory.InitialQuotePunctuation
            or UnicodeCategory.FinalQuotePunctuation or UnicodeCategory.OtherPunctuation or UnicodeCategory.MathSymbol
            or UnicodeCategory.CurrencySymbol or UnicodeCategory.ModifierSymbol or UnicodeCategory.OtherSymbol => false,
    };

    private static void Append(StringBuilder visible, int value, bool isCharacter)
    {
        if (value == '\\')
            visible.Append(@"\\");
        else if (isCharacter && !IsTreacherous(new Rune(value)))
            visible.Append(new Rune(value).ToString());
        else if (value > char.MaxValue)
            visible.Append(@"\U").Append(value.ToString("X8"));
        else
            visible.Append(@"\u").Append(value.ToString("X4"));
    }

    private static int AppendPlain(StringBuilder text, char c)
    {
        text.Append(c);
        return 1;
    }

    private static int AppendEscaped(StringBuilder text, string visible, int at)
    {
        char kind = at + 1 < visible.Length ? visible[at + 1] : '\0';
        int digits = kind switch { '\\' => 0, 'u' => 4, 'U' => 8, _ => throw Wrong(visible, at) };
        if (digits == 0)
        {
            text.Append('\\');
            return 2;
        }

        if (at + 2 + digits > visible.Length
            || !int.TryParse(visible.AsSpan(at + 2, digits), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out int value))
            throw Wrong(visible, at);
        if (digits == 4)
            text.Append((char)value);
        else if (Rune.IsValid(value))
            text.Append(new Rune(value).ToString());
        else
            throw Wrong(visible, at);
        return 2 + digits;
    }

    private static FormatException Wrong(string visible, int at) =>
        new($"a backslash at {at} in '{visible}' starts none of \\\\, \\uXXXX and \\UXXXXXXXX");
}
