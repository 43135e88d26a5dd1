using SkiaSharp;

namespace Turnstone.Papers;

/// <summary>The shipped typeface: Atkinson Hyperlegible Mono, SIL Open Font License 1.1. It tells 0 from O and 1 from l and I.</summary>
/// <remarks>No system font is used: what is printed must not change with the machine. Beyond Latin letters it has no signs; those print as boxes.</remarks>
public static class PaperFont
{
    /// <summary>For text.</summary>
    public static SKTypeface Regular { get; } = Load("AtkinsonHyperlegibleMono-Regular.ttf");

    /// <summary>For what is read from a metre away.</summary>
    public static SKTypeface Bold { get; } = Load("AtkinsonHyperlegibleMono-Bold.ttf");

    private static SKTypeface Load(string name)
    {
        using Stream stream = typeof(PaperFont).Assembly.GetManifestResourceStream($"Turnstone.Papers.Fonts.{name}")!;
        return SKTypeface.FromStream(stream);
    }
}
