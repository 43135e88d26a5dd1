using System.Text;

namespace Turnstone.Handover;

/// <summary>Paths as they stand in a manifest: CR, LF and % percent-encoded, and only these (RFC 8493, section 2.1.3).</summary>
internal static class BagPath
{
    /// <summary>The path as a manifest writes it.</summary>
    public static string Encode(string path) =>
        path.Replace("%", "%25", StringComparison.Ordinal).Replace("\r", "%0D", StringComparison.Ordinal).Replace("\n", "%0A", StringComparison.Ordinal);

    /// <summary>The path that a manifest's text means, or null where a % starts none of %0A, %0D and %25.</summary>
    public static string? Decode(string text)
    {
        if (!text.Contains('%'))
            return text;
        var path = new StringBuilder(text.Length);
        for (int i = 0; i < text.Length; i++)
        {
            if (text[i] != '%')
            {
                path.Append(text[i]);
                continue;
            }

            char? meant = i + 2 < text.Length ? Meant(text.AsSpan(i + 1, 2)) : null;
            if (meant is null)
                return null;
            path.Append(meant);
            i += 2;
        }

        return path.ToString();
    }

    private static char? Meant(ReadOnlySpan<char> digits) => digits switch
    {
        "25" => '%',
        "0A" or "0a" => '\n',
        "0D" or "0d" => '\r',
        _ => null,
    };
}
