using System.Globalization;

namespace Turnstone.Cli.Rehearse;

/// <summary>A length of time as people type it: '90m', '12h', '1.5h', '3d'.</summary>
internal static class Duration
{
    private static readonly TimeSpan Most = TimeSpan.FromDays(3650);

    /// <summary>Reads a length of time above zero; null when the text is none.</summary>
    public static TimeSpan? Read(string text)
    {
        if (text.Length < 2 || !double.TryParse(text[..^1], NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double number))
            return null;
        double? seconds = text[^1] switch
        {
            's' => number,
            'm' => number * 60,
            'h' => number * 3600,
            'd' => number * 86_400,
            _ => null,
        };
        return seconds > 0 && seconds <= Most.TotalSeconds ? TimeSpan.FromSeconds(seconds.Value) : null;
    }
}
