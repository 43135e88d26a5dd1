using System.Globalization;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>An ISO class of air cleanliness by particle concentration: 1 to 9 in steps of 0.1.</summary>
/// <remarks>
/// Whole classes are defined by ISO 14644-1:2015 Table 1; between them stands C = 10^N × (0.1 / D)^2.08 with D in micrometres,
/// three significant figures (Annex E; placing from memory). A blank cell means that a class may not be claimed at that size, never that no particle is allowed.
/// </remarks>
public readonly record struct IsoClass
{
    private readonly int _tenths;

    private IsoClass(int tenths) => _tenths = tenths;

    /// <summary>All classes, the cleanest first.</summary>
    public static IEnumerable<IsoClass> All { get; } = [.. Enumerable.Range(10, 81).Select(t => new IsoClass(t))];

    /// <summary>The number, 1 to 9.</summary>
    public double Number => _tenths / 10.0;

    private bool IsWhole => _tenths % 10 == 0;

    /// <summary>Takes a number from 1 to 9 with at most one decimal.</summary>
    /// <returns>What is wrong; null where it is right.</returns>
    public static string? TryRead(string? text, out IsoClass isoClass)
    {
        isoClass = default;
        if (!decimal.TryParse(text, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out decimal number)
            || number is < 1 or > 9 || number * 10 != decimal.Truncate(number * 10))
            return $"'{text}' is no ISO class; classes are 1 to 9 in steps of 0.1";
        isoClass = new IsoClass((int)(number * 10));
        return null;
    }

    /// <summary>The most particles of a size and larger; null where the class may not be claimed at that size.</summary>
    /// <param name="table">The limits.</param>
    /// <param name="size">A size of the table, or one between two that the class has.</param>
    /// <param name="edition">Which edition's limits.</param>
    public Concentration? Limit(AirTable table, Length size, Edition edition = Edition.Iso2015)
    {
        int whole = _tenths / 10;
        if (table.IndexOf(size) is var column && column >= 0)
            return table.Cell(edition, whole, column) is { } cell ? new Concentration(IsWhole ? cell : Formula(size)) : null;
        Length[] allowed = [.. table.Sizes.Where((_, i) => table.Cell(edition, whole, i) is not null)];
        return size.Metres > allowed[0].Metres && size.Metres < allowed[^1].Metres ? new Concentration(Formula(size)) : null;
    }

    /// <summary>The class number that a concentration corresponds to, not rounded; it may lie outside 1 to 9.</summary>
    /// <remarks>N = log10 C − 2.08 log10(0.1 / D).</remarks>
    public static double NumberOf(Concentration concentration, Length size) =>
        Math.Log10(concentration.PerCubicMetre) - (2.08 * Math.Log10(0.1 / size.Micrometres));

    /// <inheritdoc/>
    public override string ToString() => IsWhole ? $"{_tenths / 10}" : Number.ToString("0.0");

    /// <summary>The formula's value in three significant figures, then a whole number.</summary>
    internal double Formula(Length size) => Math.Round(Rounded(RawFormula(size)), MidpointRounding.AwayFromZero);

    /// <summary>The formula's value as it is: for estimates at sizes at which no class may be claimed.</summary>
    internal double RawFormula(Length size) => Math.Pow(10, Number) * Math.Pow(0.1 / size.Micrometres, 2.08);

    private static double Rounded(double value)
    {
        double scale = Math.Pow(10, Math.Floor(Math.Log10(value)) - 2);
        return Math.Round(value / scale, MidpointRounding.AwayFromZero) * scale;
    }
}
