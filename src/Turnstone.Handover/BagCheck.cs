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
        BagFiles files = BagTree.Files(_bag, _problems);
        RequireParts(files);
        BagDeclaration declaration = files.Has(Declaration.Name) ? BagDeclaration.Read(_bag, _problems) : BagDeclaration.Unknown;
        Manifest[] manifests = [.. files.Paths.Where(Manifest.IsManifest).Select(file => Manifest.Read(_bag, file, files, declaration, _problems))];
        Manifest[] payload = [.. manifests.Where(manifest => manifest.IsPayload)];
        Compare.Listed(manifests, files, _problems);
        Compare.Payload(payload, files, declaration, _problems);
        Compare.Twins(files, _problems);
        Compare.Tags(manifests, files, _problems);
        (long count, long bytes) = CheckSums(files, declaration);
        if (files.Has(FetchList.Name))
            FetchList.Check(_bag, declaration.Encoding, files, payload, _problems);
        CheckDigests(manifests, files, progress, stop);
        return new BagReport(declaration.Version, [.. payload.Select(manifest => manifest.Name)], count, bytes, _problems.InOrder());
    }

    private BagReport NoBag()
    {
        _problems.NotComplete("", 0, $"there is no folder '{_bag}'. Name the folder that holds bagit.txt.");
        return new BagReport(null, [], 0, 0, _problems.InOrder());
    }

    private void RequireParts(BagFiles files)
    {
        if (!files.Has(Declaration.Name))
            _problems.NotComplete(Declaration.Name, 0, "is not there; without it a folder is no bag");
        if (new DirectoryInfo(Path.Combine(_bag, "data")) is not { Exists: true, LinkTarget: null })
            _problems.NotComplete("data", 0, "is not there or is no folder; it holds the payload");
        if (!Array.Exists(files.Paths, file => Manifest.IsManifest(file) && !Manifest.IsTagManifest(file)))
            _problems.NotComplete("", 0, "there is no payload manifest (manifest-sha512.txt or another)");
        if (files.Has(UnfinishedMark.Name))
            _problems.NotComplete(UnfinishedMark.Name, 0, "the hand-over was not finished; files are missing");
    }

    private (long Files, long Bytes) CheckSums(BagFiles files, BagDeclaration declaration)
    {
        long count = files.Paths.LongCount(BagFiles.IsPayload);
        long bytes = files.Paths.Zip(files.Sizes).Where(file => BagFiles.IsPayload(file.First)).Sum(file => file.Second);
        if (files.Has(BagInfo.Name))
            BagInfoCheck.Compare(BagInfoCheck.Read(_bag, declaration.Encoding, _problems), bytes, count, _problems);
        return (count, bytes);
    }

    private void CheckDigests(Manifest[] manifests, BagFiles files, Action<HandoverProgress>? progress, CancellationToken stop)
    {
        var check = new DigestCheck(_bag, files);
        long done = 0, bytes = 0;
        IEnumerable<(int File, Manifest[] Given)> work = Enumerable.Range(0, files.Paths.Length)
            .Select(number => (number, Array.FindAll(manifests, manifest => !manifest.DigestOf(number).IsEmpty)))
            .Where(file => file.Item2.Length > 0);
        foreach ((int file, IReadOnlyList<BagProblem> problems) in Ahead.InOrder(
            work, item => (item.File, check.Of(item.File, item.Given)), item => files.Sizes[item.File] > LargeBytes, FilesAhead))
        {
            stop.ThrowIfCancellationRequested();
            _problems.Add(problems);
            if (BagFiles.IsPayload(files.Paths[file]))
                progress?.Invoke(new HandoverProgress(++done, bytes += files.Sizes[file], files.Paths[file]));
        }
    }
}
