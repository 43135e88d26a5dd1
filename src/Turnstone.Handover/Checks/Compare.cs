namespace Turnstone.Handover;

/// <summary>Compares what the manifests list with what is there.</summary>
internal static class Compare
{
    /// <summary>Reports listed files that are not there.</summary>
    public static void Listed(IReadOnlyList<Manifest> manifests, BagFiles files, ProblemList problems)
    {
        // Only needed when something is amiss, and then for every line.
        var byKey = new Lazy<ILookup<string, string>>(() => files.Paths.ToLookup(NameFold.Key, StringComparer.Ordinal));
        foreach (Manifest manifest in manifests)
        {
            foreach ((string path, int line) in manifest.Absent)
            {
                string? twin = byKey.Value[NameFold.Key(path)].FirstOrDefault();
                problems.NotComplete(manifest.File, line, twin is null
                    ? $"'{path}' is not there"
                    : $"'{path}' is not there; '{twin}' is, which differs only in case or in how accents are composed: some system renamed it");
            }
        }
    }

    /// <summary>Reports payload files that a manifest does not list.</summary>
    public static void Payload(IReadOnlyList<Manifest> manifests, BagFiles files, BagDeclaration declaration, ProblemList problems)
    {
        for (int number = 0; number < files.Paths.Length; number++)
        {
            if (!BagFiles.IsPayload(files.Paths[number]))
                continue;
            Manifest[] silent = [.. manifests.Where(manifest => manifest.LineOf(number) == 0)];
            // Before 1.0 it was enough that one manifest listed a file.
            if (declaration.IsFinal || silent.Length == manifests.Count)
                Array.ForEach(silent, manifest => problems.NotComplete(files.Paths[number], 0, $"is not listed in {manifest.File}"));
        }

        if (manifests.Count > 0 && manifests.All(manifest => manifest.Kind is { IsWeak: true }))
            problems.Warning("", 0, "all payload digests are md5 or sha1, which can be forged on purpose");
    }

    /// <summary>Reports payload names that other systems take for one.</summary>
    public static void Twins(BagFiles files, ProblemList problems)
    {
        var first = new Dictionary<UInt128, int>();
        for (int number = 0; number < files.Paths.Length; number++)
        {
            string path = files.Paths[number];
            if (BagFiles.IsPayload(path) && !first.TryAdd(NameFold.ShortKey(path), number))
                problems.Warning(path, 0, $"differs from '{files.Paths[first[NameFold.ShortKey(path)]]}' only in case or in how accents are composed; one of them gets lost on some systems");
        }
    }

    /// <summary>Reports tag files that no tag manifest vouches for.</summary>
    public static void Tags(IReadOnlyList<Manifest> manifests, BagFiles files, ProblemList problems)
    {
        Manifest[] tags = [.. manifests.Where(manifest => !manifest.IsPayload)];
        if (tags.Length == 0)
            problems.Warning("", 0, "there is no tag manifest: changes to the manifests themselves would not be seen");
        foreach (string file in files.Paths.Where(file => !BagFiles.IsPayload(file) && !Manifest.IsTagManifest(file)))
        {
            bool must = Manifest.IsManifest(file);
            foreach (string tag in tags.Where(tag => tag.LineOf(files.Number(file)!.Value) == 0).Select(tag => tag.File))
            {
                if (must)
                    problems.NotComplete(file, 0, $"is not listed in {tag}, which must list every payload manifest");
                else
                    problems.Warning(file, 0, $"is not listed in {tag}: a change to it would not be seen");
            }
        }
    }
}
