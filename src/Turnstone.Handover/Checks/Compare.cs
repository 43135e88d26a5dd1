namespace Turnstone.Handover;

/// <summary>Compares what the manifests list with what is there.</summary>
internal static class Compare
{
    /// <summary>Reports listed files that are not there.</summary>
    public static void Listed(IReadOnlyList<Manifest> manifests, IReadOnlyDictionary<string, long> files, ProblemList problems)
    {
        foreach (Manifest manifest in manifests)
        {
            foreach ((string path, Claim claim) in manifest.Claims.Where(claim => !files.ContainsKey(claim.Key)))
                problems.NotComplete(manifest.File, claim.Line, $"'{path}' is not there");
        }
    }

    /// <summary>Reports payload files that a manifest does not list, and names that other systems take for one.</summary>
    public static void Payload(IReadOnlyList<Manifest> manifests, IEnumerable<string> payload, BagDeclaration declaration, ProblemList problems)
    {
        var twins = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (string path in payload)
        {
            Manifest[] silent = [.. manifests.Where(manifest => !manifest.Claims.ContainsKey(path))];
            // Before 1.0 it was enough that one manifest listed a file.
            if (declaration.IsFinal || silent.Length == manifests.Count)
                Array.ForEach(silent, manifest => problems.NotComplete(path, 0, $"is not listed in {manifest.File}"));
            if (!twins.TryAdd(NameFold.Key(path), path))
                problems.Warning(path, 0, $"differs from '{twins[NameFold.Key(path)]}' only in case or in how accents are composed; one of them gets lost on some systems");
        }

        if (manifests.Count > 0 && manifests.All(manifest => manifest.Kind is { IsWeak: true }))
            problems.Warning("", 0, "all payload digests are md5 or sha1, which can be forged on purpose");
    }

    /// <summary>Reports tag files that no tag manifest vouches for.</summary>
    public static void Tags(IReadOnlyList<Manifest> manifests, IEnumerable<string> tagFiles, ProblemList problems)
    {
        Manifest[] tags = [.. manifests.Where(manifest => !manifest.IsPayload)];
        if (tags.Length == 0)
            problems.Warning("", 0, "there is no tag manifest: changes to the manifests themselves would not be seen");
        foreach (string file in tagFiles.Where(file => !Manifest.IsTagManifest(file)))
        {
            Manifest[] silent = [.. tags.Where(tag => !tag.Claims.ContainsKey(file))];
            bool must = Manifest.IsManifest(file);
            foreach (string tag in silent.Select(tag => tag.File))
            {
                if (must)
                    problems.NotComplete(file, 0, $"is not listed in {tag}, which must list every payload manifest");
                else
                    problems.Warning(file, 0, $"is not listed in {tag}: a change to it would not be seen");
            }
        }
    }
}
