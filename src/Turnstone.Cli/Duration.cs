using System.Globalization;

namespace Turnstone.Cli;

/// <summary>Times as a person writes them on a command line.</summary>
internal static class Duration
{
    /// <summary>Reads '90s', '45min', '12h', '2d'; null stays null.</summary>
    public static TimeSpan? Parse(string? text)
    {
        if (text is null)
            return null;
        int digits = text.TakeWhile(c => char.IsAsciiDigit(c) || c == '.').Count();
        if (!double.TryParse(text[..digits], NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double number) || number <= 0)
            throw Wrong(text);
        double seconds = number * text[digits..] switch
        {
            "s" => 1,
            "min" or "m" => 60,
            "h" => 3600,
            "d" => 86_400,
            _ => throw Wrong(text),
        };
        return seconds < 1e9 ? TimeSpan.FromSeconds(seconds) : throw Wrong(text);
    }

    private static BadInputException Wrong(string text) => new($"'{text}' is no time above zero: write for example 90s, 45min, 12h or 2d");
}
