using System.Collections.Concurrent;
using System.IO.Hashing;
using System.Text;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>What an interrupted hand-over left in the bag, file by file. A file is kept when it is read back with its digest.</summary>
internal sealed class EarlierWork
{
    private readonly string _bag;
    private readonly bool _isNew;
    private readonly ConcurrentDictionary<string, Remembered> _files = new(StringComparer.Ordinal);

    private EarlierWork(string bag, bool isNew) => (_bag, _isNew) = (bag, isNew);

    /// <summary>Nothing.</summary>
    public static EarlierWork None(string bag) => new(bag, isNew: true);

    /// <summary>What the lines of the mark remember. Everything else in the folder is removed: it is half-written or will be written anew.</summary>
    /// <exception cref="HandoverException">There are links or other things in the folder that no hand-over makes.</exception>
    public static EarlierWork Of(string bag, IEnumerable<string> lines)
    {
        var problems = new ProblemList();
        BagFiles there = BagTree.Files(bag, problems);
        if (problems.InOrder() is [{ } first, ..])
            throw new HandoverException($"'{bag}' was changed since the hand-over was interrupted. {first} Remove the folder, or name another one.");
        var earlier = new EarlierWork(bag, isNew: false);
        foreach (string line in lines)
            earlier.Remember(line, there);
        foreach (string path in there.Paths.Where(path => path != UnfinishedMark.Name && !earlier._files.ContainsKey(path)))
            File.Delete(Path.Combine(bag, path));
        return earlier;
    }

    /// <summary>Whether a file can be known again at a later start: by where its bytes lie.</summary>
    public static bool CanKeep(Placed placed) =>
        placed.Finding.Entry is { Kind: EntryKind.File or EntryKind.Stream, Content.Extents: not null };

    /// <summary>The line that remembers a file.</summary>
    public static string Line(Placed placed, Written written) =>
        $"{written.Path}\t{Fingerprint(placed.Finding)}\t{written.Digest.Sha256}";

    /// <summary>The file as it lies there, when it is what would be written now; otherwise it is removed and null is the answer.</summary>
    /// <remarks>Safe for several threads, each with a file of its own.</remarks>
    public Written? Keep(Placed placed)
    {
        if (!_files.TryRemove(placed.Path!, out Remembered? file))
            return null;
        string full = Path.Combine(_bag, placed.Path!);
        if (file.Fingerprint == Fingerprint(placed.Finding) && TwinDigest.OfFile(full) is { } digest && digest.Sha256 == file.Sha256)
            return new Written(placed.Path!, placed.Finding.Entry.Size ?? 0, digest);
        File.Delete(full);
        return null;
    }

    /// <summary>Removes what the hand-over does not hold any more, and the folders that this leaves empty.</summary>
    public void DropRest()
    {
        foreach (string path in _files.Keys)
            File.Delete(Path.Combine(_bag, path));
        if (_isNew)
            return;
        IEnumerable<string> deepestFirst = Directory.EnumerateDirectories(Path.Combine(_bag, "data"), "*", SearchOption.AllDirectories)
            .OrderByDescending(folder => folder.Length).ToList();
        foreach (string folder in deepestFirst.Where(folder => !Directory.EnumerateFileSystemEntries(folder).Any()))
            Directory.Delete(folder);
    }

    // Only what really lies in the folder: a line of the mark is never followed anywhere else.
    private void Remember(string line, BagFiles there)
    {
        string[] cell = line.Split('\t');
        if (cell is [_, _, { Length: 64 }] && BagFiles.IsPayload(cell[0]) && there.Has(cell[0]))
            _files[cell[0]] = new Remembered(cell[1], cell[2]);
    }

    // Everything that decides what bytes a file gets: a better read between two starts changes it.
    private static string Fingerprint(FileFinding finding)
    {
        var text = new StringBuilder();
        text.Append($"{finding.Volume}\n{VisibleText.Of(finding.Entry.Path.ToString())}\n{finding.Entry.Size}\n{finding.Grade}\n");
        foreach (ByteRange hole in finding.Missing)
            text.Append($"-{hole}");
        foreach (Extent extent in finding.Entry.Content?.Extents ?? [])
            text.Append($"{extent.Kind}{extent.Offset}+{extent.Length}");
        return Convert.ToHexStringLower(XxHash128.Hash(Encoding.UTF8.GetBytes(text.ToString())));
    }

    private sealed record Remembered(string Fingerprint, string Sha256);
}
