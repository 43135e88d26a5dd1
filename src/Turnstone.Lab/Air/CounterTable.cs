using System.Globalization;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>Reads what a particle counter exports.</summary>
internal static class CounterTable
{
    public static Understood<AirReading> Read(string file, string text)
    {
        (int Line, string Text)[] lines = [.. text.Split('\n').Select((l, i) => (i + 1, l.Trim().TrimStart('\uFEFF'))).Where(l => l.Item2.Length > 0)];
        (int Line, string Text)[] rows = [.. lines.Where(l => l.Text[0] != '#')];
        if (rows.Length < 2)
            return Wrong(file, 0, "", "no samples; a heading line and at least one sample line are expected");
        char mark = rows[0].Text.Contains(';') ? ';' : ',';
        if (Headings.Read(rows[0].Text.Split(mark), out Headings? headings) is { } bad)
            return Wrong(file, rows[0].Line, "headings", bad);
        bool differential = lines.Any(l => l.Text[0] == '#' && l.Text.Contains("counts: differential", StringComparison.OrdinalIgnoreCase));
        var samples = new List<AirSample>();
        foreach ((int line, string row) in rows.Skip(1))
        {
            if (Sample(headings!, row.Split(mark), differential, out AirSample? sample) is { } wrong)
                return Wrong(file, line, "", wrong);
            samples.Add(sample!);
        }

        return new Understood<AirReading>.Value(new AirReading(file, [.. headings!.Sizes.Select(s => s.Size)], samples));
    }

    private static string? Sample(Headings headings, string[] cells, bool differential, out AirSample? sample)
    {
        sample = null;
        if (cells.Length != headings.Count)
            return $"{cells.Length} columns where the heading has {headings.Count}";
        if (!double.TryParse(cells[headings.Volume].Trim(), NumberStyles.Float, CultureInfo.InvariantCulture, out double volume) || !(volume > 0) || !double.IsFinite(volume))
            return $"volume '{cells[headings.Volume].Trim()}' is impossible; a number above 0 is expected";
        var counts = new List<long>();
        foreach ((Length size, int column) in headings.Sizes)
        {
            if (!long.TryParse(cells[column].Trim(), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out long count) || count is < 0 or > 1_000_000_000_000)
                return $"count '{cells[column].Trim()}' at {size.Micrometres:0.##} µm is impossible; a whole number from 0 is expected";
            counts.Add(count);
        }

        for (int i = counts.Count - 2; i >= 0; i--)
        {
            if (differential)
                counts[i] += counts[i + 1];
            else if (counts[i] < counts[i + 1])
                return $"{counts[i + 1]} particles at the larger size are more than {counts[i]} at the smaller: counts of a size and larger are expected; write '# counts: differential' above the heading if each column ends at the next size";
        }

        sample = new AirSample(cells[headings.Place].Trim(), new Volume(volume * headings.VolumeFactor), counts);
        return null;
    }

    private static Understood<AirReading>.Wrong Wrong(string file, int line, string where, string what) => new(new Fault(file, line, where, what));

    private sealed record Headings(int Count, int Place, int Volume, double VolumeFactor, IReadOnlyList<(Length Size, int Column)> Sizes)
    {
        public static string? Read(string[] cells, out Headings? headings)
        {
            headings = null;
            string[] names = [.. cells.Select(c => c.Trim().Trim('"').ToLowerInvariant())];
            int place = Array.FindIndex(names, n => n is "location" or "place"), volume = Array.FindIndex(names, n => n.StartsWith("volume", StringComparison.Ordinal));
            if (place < 0 || volume < 0)
                return $"no column '{(place < 0 ? "location" : "volume (L)")}'";
            string unit = names[volume]["volume".Length..].Trim().Trim('(', ')', '[', ']');
            double factor = unit switch { "l" => 1e-3, "ml" => 1e-6, "m³" or "m3" => 1, "ft³" or "ft3" => 0.028316846592, _ => 0 };
            if (factor == 0)
                return $"'{cells[volume].Trim()}' has no unit that is known; write 'volume (L)', (mL), (m3) or (ft3)";
            var sizes = new List<(Length, int)>();
            for (int i = 0; i < names.Length; i++)
            {
                if (!names[i].StartsWith(">=", StringComparison.Ordinal) && !names[i].StartsWith('≥'))
                    continue;
                if (Quantity.TryRead(names[i].TrimStart('>', '=', '≥'), out Length size) is { } wrong)
                    return wrong;
                sizes.Add((size, i));
            }

            headings = new Headings(cells.Length, place, volume, factor, [.. sizes.OrderBy(s => s.Item1.Metres)]);
            return sizes.Count == 0 ? "no column of counts, such as '>=0.5 µm'" : null;
        }
    }
}
