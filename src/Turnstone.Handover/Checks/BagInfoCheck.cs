using System.Globalization;
using System.Text;

namespace Turnstone.Handover;

/// <summary>Reads bag-info.txt and compares its Payload-Oxum with what is there (RFC 8493, section 2.2.2).</summary>
internal static class BagInfoCheck
{
    /// <summary>Labels and values in their order, continuation lines joined with a space.</summary>
    public static IReadOnlyList<(int Line, string Label, string Value)> Read(string bag, Encoding encoding, ProblemList problems)
    {
        var all = new List<(int Line, string Label, string Value)>();
        foreach ((int number, string text) in TagLines.Read(bag, BagInfo.Name, encoding, problems))
        {
            if (text.StartsWith(' ') || text.StartsWith('\t'))
            {
                Continue(all, number, text, problems);
                continue;
            }

            int colon = text.IndexOf(':');
            if (colon > 0 && colon + 1 < text.Length && text[colon + 1] is ' ' or '\t')
                all.Add((number, text[..colon].TrimEnd(), text[(colon + 2)..]));
            else
                problems.NotComplete(BagInfo.Name, number, "must be a label, a colon, a space and a value");
        }

        return all;
    }

    /// <summary>Reports what does not agree with the payload.</summary>
    public static void Compare(IReadOnlyList<(int Line, string Label, string Value)> info, long bytes, long files, ProblemList problems)
    {
        (int Line, string Label, string Value)[] sums = [.. info.Where(line => line.Label.Equals("Payload-Oxum", StringComparison.OrdinalIgnoreCase))];
        foreach ((int line, _, _) in sums.Skip(1))
            problems.NotComplete(BagInfo.Name, line, "Payload-Oxum must stand there once only");
        foreach ((int line, _, string value) in sums.Take(1))
        {
            string[] parts = value.Trim().Split('.');
            if (parts.Length != 2 || !IsCount(parts[0], out long octets) || !IsCount(parts[1], out long streams))
                problems.NotComplete(BagInfo.Name, line, $"Payload-Oxum '{value}' is not two numbers with a dot between");
            else if (octets != bytes || streams != files)
                problems.NotComplete(BagInfo.Name, line, $"Payload-Oxum says {octets} bytes in {streams} files; there are {bytes} in {files}");
        }
    }

    private static void Continue(List<(int Line, string Label, string Value)> all, int number, string text, ProblemList problems)
    {
        if (all.Count == 0)
            problems.NotComplete(BagInfo.Name, number, "is indented like a continuation, but there is nothing before it");
        else
            all[^1] = all[^1] with { Value = $"{all[^1].Value} {text.TrimStart(' ', '\t')}" };
    }

    private static bool IsCount(string text, out long count) =>
        long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out count);
}
