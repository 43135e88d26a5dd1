using System.Globalization;
using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>Keeps the books of a bag while it fills: manifests, table, sums; and closes it.</summary>
internal sealed class BagBooks(string bag) : IDisposable
{
    private readonly HashedFile _sha256 = new(Path.Combine(bag, "manifest-sha256.txt"));
    private readonly HashedFile _sha512 = new(Path.Combine(bag, "manifest-sha512.txt"));
    private readonly HashedFile _table = Open(bag, FileTable.Name, FileTable.Head);
    private readonly SortedDictionary<string, TwinDigest> _tags = new(StringComparer.Ordinal);
    private readonly SortedDictionary<string, long> _delivered = new(StringComparer.Ordinal);
    private long _files, _bytes, _onlyNamed;

    /// <summary>Enters what was written for one finding.</summary>
    public void Enter(Outcome outcome, Action<HandoverProgress>? progress)
    {
        Written? file = outcome.Files.Count > 0 ? outcome.Files[0] : null;
        _table.Line(FileTable.Line(outcome.Placed, file));
        Count(outcome.Placed.Finding);
        foreach (Written written in outcome.Files)
        {
            string path = BagPath.Encode(written.Path);
            _sha256.Line($"{written.Digest.Sha256}  {path}");
            _sha512.Line($"{written.Digest.Sha512}  {path}");
            _files++;
            _bytes += written.Size;
            progress?.Invoke(new HandoverProgress(_files, _bytes, written.Path));
        }
    }

    /// <summary>Writes the remaining tag files, 'bagit.txt' last of all, and takes the mark of the unfinished away.</summary>
    public HandoverResult Close(HandoverOrder order)
    {
        _tags[FileTable.Name] = _table.Finish();
        _tags["manifest-sha256.txt"] = _sha256.Finish();
        _tags["manifest-sha512.txt"] = _sha512.Finish();
        Tag(Instructions.Name, Instructions.Text.Split('\n'));
        Tag(BagInfo.Name, BagInfo.Lines(order, _bytes, _files));
        _tags[Declaration.Name] = TwinDigest.Of(Declaration.Bytes);
        Tag("tagmanifest-sha256.txt", [.. _tags.Select(tag => $"{tag.Value.Sha256}  {tag.Key}")], listed: false);
        TwinDigest seal = Tag("tagmanifest-sha512.txt", [.. _tags.Select(tag => $"{tag.Value.Sha512}  {tag.Key}")], listed: false);

        // What bagit.txt vouches for must be on the medium before it is.
        DurableTarget.Sync(bag);
        File.WriteAllBytes(Path.Combine(bag, Declaration.Name), Declaration.Bytes);
        UnfinishedMark.End(bag);
        DurableTarget.Sync(bag);
        return new HandoverResult(bag, _files, _bytes, _delivered, _onlyNamed, seal.Sha512);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _sha256.Dispose();
        _sha512.Dispose();
        _table.Dispose();
    }

    private static HashedFile Open(string bag, string name, string head)
    {
        var file = new HashedFile(Path.Combine(bag, name));
        file.Line(head);
        return file;
    }

    private void Count(FileFinding finding)
    {
        if (Shelf.Of(finding) is { } shelf)
            _delivered[shelf] = _delivered.GetValueOrDefault(shelf) + 1;
        else if (finding.Grade is not null)
            _onlyNamed++;
    }

    private TwinDigest Tag(string name, IEnumerable<string> lines, bool listed = true)
    {
        using var file = new HashedFile(Path.Combine(bag, name));
        foreach (string line in lines)
            file.Line(line);
        TwinDigest digest = file.Finish();
        if (listed)
            _tags[name] = digest;
        return digest;
    }
}
