namespace Turnstone.Handover;

/// <summary>Checks any bag by RFC 8493, ours or not: whether it is complete, whether it is valid, and everything that speaks against it.</summary>
/// <remarks>Reads only. No path from a manifest is ever opened, no link is followed, nothing is fetched.</remarks>
/// <param name="folder">The bag.</param>
public sealed class BagCheck(string folder)
{
    private const int FilesAhead = 16;
    private const long LargeBytes = 1 << 20;

    private readonly string _bag = Path.GetFullPath(folder);
    private readonly ProblemList _problems = new();

    /// <summary>Checks everything; every payload and tag file is read once.</summary>
    /// <param name="progress">Told after every payload file, on the caller's thread.</param>
    /// <param name="stop">Stops between two files.</param>
    /// <exception cref="OperationCanceledException"><paramref name="stop"/> was set.</exception>
    public BagReport Run(Action<HandoverProgress>? progress = null, CancellationToken stop = default)
    {
        if (!Directory.Exists(_bag))
            return NoBag();
        SortedDictionary<string, long> files = BagTree.Files(_bag, _problems);
        RequireParts(files);
        BagDeclaration declaration = files.ContainsKey(Declaration.Name) ? BagDeclaration.Read(_bag, _problems) : BagDeclaration.Unknown;
        Manifest[] manifests = [.. files.Keys.Where(Manifest.IsManifest).Select(file => Manifest.Read(_bag, file, declaration, _problems))];
        Manifest[] payload = [.. manifests.Where(manifest => manifest.IsPayload)];
        long payloadFiles = files.Keys.LongCount(IsPayload), payloadBytes = files.Where(file => IsPayload(file.Key)).Sum(file => file.Value);

        Compare.Listed(manifests, files, _problems);
        Compare.Payload(payload, files.Keys.Where(IsPayload), declaration, _problems);
        Compare.Tags(manifests, files.Keys.Where(file => !IsPayload(file)), _problems);
        if (files.ContainsKey(BagInfo.Name))
            BagInfoCheck.Compare(BagInfoCheck.Read(_bag, declaration.Encoding, _problems), payloadBytes, payloadFiles, _problems);
        if (files.ContainsKey(FetchList.Name))
            FetchList.Check(_bag, declaration.Encoding, files, payload, _problems);
        CheckDigests(manifests, files, progress, stop);
        return new BagReport(declaration.Version, [.. payload.Select(manifest => manifest.Kind?.Name).OfType<string>()], payloadFiles, payloadBytes, _problems.InOrder());
    }

    private static bool IsPayload(string file) => file.StartsWith("data/", StringComparison.Ordinal);

    private BagReport NoBag()
    {
        _problems.NotComplete("", 0, $"there is no folder '{_bag}'. Name the folder that holds bagit.txt.");
        return new BagReport(null, [], 0, 0, _problems.InOrder());
    }

    private void RequireParts(SortedDictionary<string, long> files)
    {
        if (!files.ContainsKey(Declaration.Name))
            _problems.NotComplete(Declaration.Name, 0, "is not there; without it a folder is no bag");
        if (new DirectoryInfo(Path.Combine(_bag, "data")) is not { Exists: true, LinkTarget: null })
            _problems.NotComplete("data", 0, "is not there or is no folder; it holds the payload");
        if (!files.Keys.Any(file => Manifest.IsManifest(file) && !Manifest.IsTagManifest(file)))
            _problems.NotComplete("", 0, "there is no payload manifest (manifest-sha512.txt or another)");
        if (files.ContainsKey(UnfinishedMark.Name))
            _problems.NotComplete(UnfinishedMark.Name, 0, "the hand-over was not finished; files are missing");
    }

    private void CheckDigests(Manifest[] manifests, SortedDictionary<string, long> files, Action<HandoverProgress>? progress, CancellationToken stop)
    {
        var check = new DigestCheck(_bag);
        long done = 0, bytes = 0;
        IEnumerable<(string Path, long Size, List<(Manifest, Claim)> Claims)> work = files.Select(file => (file.Key, file.Value, Claims: ClaimsOn(file.Key, manifests)));
        foreach ((string path, long size, IReadOnlyList<BagProblem> problems) in Ahead.InOrder(
            work.Where(file => file.Claims.Count > 0),
            file => (file.Path, file.Size, check.Of(file.Path, file.Claims)),
            file => file.Size > LargeBytes,
            FilesAhead))
        {
            stop.ThrowIfCancellationRequested();
            _problems.Add(problems);
            if (IsPayload(path))
                progress?.Invoke(new HandoverProgress(++done, bytes += size, path));
        }
    }

    private static List<(Manifest Manifest, Claim Claim)> ClaimsOn(string path, Manifest[] manifests)
    {
        var claims = new List<(Manifest, Claim)>();
        foreach (Manifest manifest in manifests)
        {
            if (manifest.Claims.TryGetValue(path, out Claim claim) && claim.Digest is not null)
                claims.Add((manifest, claim));
        }

        return claims;
    }
}
