namespace Turnstone.Handover;

/// <summary>What a manifest says of one file.</summary>
/// <param name="Digest">The digest, or null where it cannot be one.</param>
/// <param name="Line">Line in the manifest.</param>
internal readonly record struct Claim(byte[]? Digest, int Line);

/// <summary>A payload or tag manifest (RFC 8493, sections 2.1.3 and 2.2.1).</summary>
/// <param name="File">Its name.</param>
/// <param name="IsPayload">Whether it lists files below data/.</param>
/// <param name="Kind">Its digest; null for one that is not known here.</param>
/// <param name="Claims">What it says, by path.</param>
internal sealed record Manifest(string File, bool IsPayload, DigestKind? Kind, Dictionary<string, Claim> Claims)
{
    private const string PayloadStart = "manifest-", TagStart = "tagmanifest-", End = ".txt";

    /// <summary>Whether a file in the bag's own folder is a manifest by its name.</summary>
    public static bool IsManifest(string file) =>
        file.EndsWith(End, StringComparison.Ordinal) && (file.StartsWith(PayloadStart, StringComparison.Ordinal) || IsTagManifest(file));

    /// <summary>Whether it is a tag manifest by its name.</summary>
    public static bool IsTagManifest(string file) =>
        file.EndsWith(End, StringComparison.Ordinal) && file.StartsWith(TagStart, StringComparison.Ordinal);

    /// <summary>Reads one; lines that cannot be believed are reported and left out.</summary>
    public static Manifest Read(string bag, string file, BagDeclaration declaration, ProblemList problems)
    {
        bool payload = !IsTagManifest(file);
        string name = file[(payload ? PayloadStart : TagStart).Length..^End.Length];
        var kind = DigestKind.Of(name);
        if (kind is null)
            problems.NotValid(file, 0, $"digests of the kind '{name}' cannot be checked here; known are md5, sha1, sha256, sha384, sha512, in lower case");
        var manifest = new Manifest(file, payload, kind, new(StringComparer.Ordinal));
        foreach ((int number, string text) in TagLines.Read(bag, file, declaration.Encoding, problems))
            manifest.Take(number, text, declaration, problems);
        return manifest;
    }

    private void Take(int number, string text, BagDeclaration declaration, ProblemList problems)
    {
        int gap = text.AsSpan().IndexOfAny(' ', '\t');
        string written = gap < 0 ? "" : text[gap..].TrimStart(' ', '\t');
        if (gap <= 0 || written.Length == 0)
        {
            problems.NotComplete(File, number, "must be a digest, spaces, and a path");
            return;
        }

        string? path = ManifestPath.Read(written, IsPayload, declaration.IsFinal, out string? fault);
        if (path is null)
            problems.NotComplete(File, number, fault!);
        else if (!Claims.TryAdd(path, new Claim(DigestOf(text[..gap], number, problems), number)))
            problems.NotComplete(File, number, $"'{path}' is listed a second time; line {Claims[path].Line} lists it already");
    }

    private byte[]? DigestOf(string text, int number, ProblemList problems)
    {
        if (Kind is null)
            return null;
        if (text.Length == 2 * Kind.Bytes && text.All(char.IsAsciiHexDigit))
            return Convert.FromHexString(text);
        problems.NotComplete(File, number, $"'{text}' is no {Kind.Name} digest, which has {2 * Kind.Bytes} hexadecimal digits");
        return null;
    }
}
