namespace Turnstone.Handover;

/// <summary>Decides whether a path in a manifest may be believed: it must stay in the bag (RFC 8493, section 5).</summary>
internal static class ManifestPath
{
    /// <summary>The path that is meant, or null and why it is refused.</summary>
    /// <param name="written">As in the manifest.</param>
    /// <param name="payload">Whether it must lie below data/, or must not.</param>
    /// <param name="final">Whether the rules of 1.0 hold; the drafts before it encoded only line ends and allowed a '*'.</param>
    /// <param name="fault">Why it is refused.</param>
    public static string? Read(string written, bool payload, bool final, out string? fault)
    {
        if (!final && written.StartsWith('*'))
            written = written[1..];
        string? path = Decode(written, final);
        fault = path is null
            ? $"'{written}' holds a % that starts none of %0A, %0D and %25; a % in a name must be written %25"
            : Refusal(path, payload);
        return fault is null ? path : null;
    }

    private static string? Decode(string written, bool final) => final
        ? BagPath.Decode(written)
        : written.Replace("%0A", "\n", StringComparison.OrdinalIgnoreCase).Replace("%0D", "\r", StringComparison.OrdinalIgnoreCase);

    private static string? Refusal(string path, bool payload)
    {
        if (path[0] is '/' or '\\' || path is [_, ':', ..])
            return $"'{path}' is an absolute path; a manifest names files of the bag only";
        if (path[0] == '~')
            return $"'{path}' starts with '~', which some systems take for a home folder";
        if (path[0] == '*')
            return $"'{path}' starts with '*', the mark of another program's list; a bag has none";
        if (Array.Exists(path.Split('/'), part => part is ".." or "." or ""))
            return $"'{path}' holds an empty name, '.' or '..'; it may lead out of the bag and is not followed";
        bool below = path.StartsWith("data/", StringComparison.Ordinal);
        if (payload && !below)
            return $"'{path}' lies outside data/; a payload manifest lists nothing else";
        if (!payload && (below || Manifest.IsTagManifest(path)))
            return $"'{path}' must not stand in a tag manifest";
        return null;
    }
}
