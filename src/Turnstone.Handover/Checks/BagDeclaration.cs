using System.Text;

namespace Turnstone.Handover;

/// <summary>What bagit.txt declares.</summary>
/// <param name="Version">As written, or null.</param>
/// <param name="IsFinal">Whether the rules of 1.0 hold; earlier drafts were looser.</param>
/// <param name="Encoding">Encoding of the other tag files; throws on bytes that are no text.</param>
internal sealed record BagDeclaration(string? Version, bool IsFinal, Encoding Encoding)
{
    private const string VersionLabel = "BagIt-Version: ", EncodingLabel = "Tag-File-Character-Encoding: ";

    /// <summary>What is taken where there is no bagit.txt.</summary>
    public static BagDeclaration Unknown => new(null, IsFinal: true, Utf8);

    private static Encoding Utf8 { get; } = new UTF8Encoding(false, throwOnInvalidBytes: true);

    /// <summary>Reads it; what cannot be understood is reported and taken as version 1.0 in UTF-8.</summary>
    public static BagDeclaration Read(string bag, ProblemList problems)
    {
        List<string> lines = [.. TagLines.Read(bag, Declaration.Name, Utf8, problems).Select(line => line.Text)];
        if (lines.Count != 2)
            problems.NotComplete(Declaration.Name, 0, $"has {lines.Count} lines; it must have exactly two");
        string? version = Value(lines, 0, VersionLabel, problems);
        string? encoding = Value(lines, 1, EncodingLabel, problems);
        return new BagDeclaration(version, IsFinalVersion(version, problems), EncodingOf(encoding, problems));
    }

    private static string? Value(List<string> lines, int index, string label, ProblemList problems)
    {
        if (index < lines.Count && lines[index].StartsWith(label, StringComparison.Ordinal) && lines[index].Length > label.Length)
            return lines[index][label.Length..];
        problems.NotComplete(Declaration.Name, index + 1, $"must be '{label}' followed by its value");
        return null;
    }

    private static bool IsFinalVersion(string? version, ProblemList problems)
    {
        string[] parts = version?.Split('.') ?? [];
        bool known = parts.Length == 2 && parts.All(part => part.Length > 0 && part.All(char.IsAsciiDigit));
        if (!known || version == "1.0")
        {
            if (!known && version is not null)
                problems.NotComplete(Declaration.Name, 1, $"'{version}' is no version number of the form M.N");
            return true;
        }

        bool draft = version is "0.93" or "0.94" or "0.95" or "0.96" or "0.97";
        problems.Warning(Declaration.Name, 1, draft
            ? $"version {version} is a draft from before RFC 8493; its looser rules are applied"
            : $"version {version} is not known here; it is checked by the rules of 1.0");
        return !draft;
    }

    private static Encoding EncodingOf(string? name, ProblemList problems)
    {
        try
        {
            return name is null || name.Equals("UTF-8", StringComparison.OrdinalIgnoreCase)
                ? Utf8
                : Encoding.GetEncoding(name, EncoderFallback.ExceptionFallback, DecoderFallback.ExceptionFallback);
        }
        catch (ArgumentException)
        {
            problems.NotComplete(Declaration.Name, 2, $"the encoding '{name}' is not known here; the tag files are read as UTF-8");
            return Utf8;
        }
    }
}
