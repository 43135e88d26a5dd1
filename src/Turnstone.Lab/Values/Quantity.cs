using System.Globalization;

namespace Turnstone.Lab.Values;

/// <summary>A unit as people write it.</summary>
/// <param name="Symbol">Such as 'mm'.</param>
/// <param name="Factor">How many of the kind's first unit one of it is.</param>
public readonly record struct Unit(string Symbol, double Factor);

/// <summary>A measured amount that is written with its unit and never without.</summary>
/// <typeparam name="TSelf">The kind.</typeparam>
public interface IQuantity<TSelf>
    where TSelf : struct, IQuantity<TSelf>
{
    /// <summary>What it is, for messages: 'a length'.</summary>
    static abstract string Kind { get; }

    /// <summary>Units that may be written; the first has factor 1 and is the one that is written back.</summary>
    static abstract IReadOnlyList<Unit> Units { get; }

    /// <summary>The amount in the first unit.</summary>
    double InFirstUnit { get; }

    /// <summary>Makes one from an amount in the first unit.</summary>
    static abstract TSelf From(double inFirstUnit);
}

/// <summary>Reads and writes quantities: '0.45 m/s'.</summary>
public static class Quantity
{
    /// <summary>Reads a number with its unit, a space between them or none.</summary>
    /// <param name="text">What somebody wrote.</param>
    /// <param name="value">The amount, where it is one.</param>
    /// <returns>What is wrong and what to write instead; null where it is right. Negative and endless amounts are wrong.</returns>
    public static string? TryRead<T>(string? text, out T value)
        where T : struct, IQuantity<T>
    {
        value = default;
        string trimmed = (text ?? "").Trim();
        int end = NumberEnd(trimmed);
        string symbol = trimmed[end..].Trim().Replace('\u03BC', '\u00B5');
        if (!double.TryParse(trimmed[..end], NumberStyles.Float, CultureInfo.InvariantCulture, out double number))
            return $"'{text}' is not {T.Kind}; write a number with one of the units {Known<T>()}";
        if (symbol.Length == 0)
            return $"'{text}' has no unit; write it with one of {Known<T>()}";
        if (!T.Units.Any(u => u.Symbol == symbol))
            return $"'{symbol}' is no unit of {T.Kind}; known are {Known<T>()}";
        if (!double.IsFinite(number) || number < 0)
            return $"'{text}' is impossible: {T.Kind} is not negative or endless";
        value = T.From(number * T.Units.First(u => u.Symbol == symbol).Factor);
        return null;
    }

    /// <summary>The amount in the kind's first unit, with at most four significant figures.</summary>
    public static string Write<T>(T value)
        where T : struct, IQuantity<T> => $"{value.InFirstUnit.ToString("G4", CultureInfo.InvariantCulture)} {T.Units[0].Symbol}";

    private static int NumberEnd(string text)
    {
        int end = 0;
        while (end < text.Length && (char.IsAsciiDigit(text[end]) || ".+-".Contains(text[end]) || IsExponent(text, end)))
            end++;
        return end;
    }

    private static bool IsExponent(string text, int at) =>
        text[at] is 'e' or 'E' && at > 0 && at + 1 < text.Length && (char.IsAsciiDigit(text[at + 1]) || text[at + 1] is '-' or '+');

    private static string Known<T>()
        where T : struct, IQuantity<T> => string.Join(", ", T.Units.Select(u => u.Symbol));
}
