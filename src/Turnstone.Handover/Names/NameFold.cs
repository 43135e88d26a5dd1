using System.Globalization;
using System.IO.Hashing;
using System.Runtime.InteropServices;
using System.Text;

namespace Turnstone.Handover;

/// <summary>Tells which names other systems take for one and the same: equal but for case and for how accents are composed.</summary>
/// <remarks>
/// Canonical caseless matching, NFD(fold(NFD(name))), The Unicode Standard, section 3.13, D145, with full case folding.
/// The tables come from the Unicode Character Database (eng/unicode-names.py), because string.Normalize gives its input
/// back unchanged under InvariantGlobalization, without a word.
/// </remarks>
internal static class NameFold
{
    private const int HangulFirst = 0xAC00, HangulCount = 11_172, VowelsTimesTails = 588, Tails = 28;
    private static readonly Dictionary<int, int[]> Decompositions = [], Foldings = [];
    private static readonly Dictionary<int, int> Classes = [];

    static NameFold()
    {
        using Stream table = typeof(NameFold).Assembly.GetManifestResourceStream("unicode-names.txt")
            ?? throw new InvalidOperationException("the program was built without its table of characters, unicode-names.txt");
        using var reader = new StreamReader(table);
        while (reader.ReadLine() is { } line)
            Take(line);
    }

    /// <summary>What the name has in common with all its twins. Two names with one key don't go into one folder.</summary>
    /// <param name="name">Any text; a lone surrogate counts as U+FFFD.</param>
    public static string Key(string name) =>
        name.AsSpan().ContainsAnyExceptInRange(' ', '~') ? Text(Decompose(Fold(Decompose(Points(name))))) : name.ToLowerInvariant();

    /// <summary>A digest of the key, for large sets. That two keys share one is as good as impossible by chance.</summary>
    public static UInt128 ShortKey(string name) => Short(Key(name));

    /// <summary>The digest of a key that is known already.</summary>
    public static UInt128 Short(string key) => XxHash128.HashToUInt128(MemoryMarshal.AsBytes(key.AsSpan()));

    /// <summary>The name with every character fully decomposed (normalization form D).</summary>
    public static string Decomposed(string name) => Text(Decompose(Points(name)));

    private static void Take(string line)
    {
        string[] field = line.Split(' ');
        switch (field[0])
        {
            case "C":
                foreach (string point in field[2..])
                    Classes[Hex(point)] = int.Parse(field[1], CultureInfo.InvariantCulture);
                break;
            case "D":
                Decompositions[Hex(field[1])] = [.. field[2..].Select(Hex)];
                break;
            case "F":
                Foldings[Hex(field[1])] = [.. field[2..].Select(Hex)];
                break;
        }
    }

    private static int Hex(string text) => int.Parse(text, NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture);

    private static IEnumerable<int> Points(string name) => name.EnumerateRunes().Select(rune => rune.Value);

    private static IEnumerable<int> Fold(IEnumerable<int> points) =>
        points.SelectMany(point => Foldings.TryGetValue(point, out int[]? folded) ? folded : [point]);

    private static List<int> Decompose(IEnumerable<int> points)
    {
        var all = new List<int>();
        foreach (int point in points)
        {
            if (point is >= HangulFirst and < HangulFirst + HangulCount)
                AddHangul(all, point - HangulFirst);
            else if (Decompositions.TryGetValue(point, out int[]? parts))
                all.AddRange(parts);
            else
                all.Add(point);
        }

        OrderMarks(all);
        return all;
    }

    // The Unicode Standard, section 3.12, Hangul syllable decomposition.
    private static void AddHangul(List<int> all, int index)
    {
        all.Add(0x1100 + (index / VowelsTimesTails));
        all.Add(0x1161 + (index % VowelsTimesTails / Tails));
        if (index % Tails != 0)
            all.Add(0x11A7 + (index % Tails));
    }

    // Marks between two starters go by their class; equal classes keep their order (D109).
    private static void OrderMarks(List<int> points)
    {
        for (int start = 0; start < points.Count; start++)
        {
            if (ClassOf(points[start]) == 0)
                continue;
            int end = start + 1;
            while (end < points.Count && ClassOf(points[end]) != 0)
                end++;
            int[] marks = [.. points.GetRange(start, end - start).OrderBy(ClassOf)];
            for (int i = 0; i < marks.Length; i++)
                points[start + i] = marks[i];
            start = end - 1;
        }
    }

    private static int ClassOf(int point) => Classes.GetValueOrDefault(point);

    private static string Text(IEnumerable<int> points)
    {
        var text = new StringBuilder();
        foreach (int point in points)
            text.Append(new Rune(point).ToString());
        return text.ToString();
    }
}
