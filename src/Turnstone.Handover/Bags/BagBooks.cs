using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>Keeps the books of a hand-over while its bag fills: the bag's own, the table of names, and what went where.</summary>
internal sealed class BagBooks : IDisposable
{
    private readonly string _folder;
    private readonly UnfinishedMark _mark;
    private readonly BagWriter _bag;
    private readonly HashedFile _table;
    private readonly SortedDictionary<string, long> _delivered = new(StringComparer.Ordinal);
    private long _onlyNamed;

    /// <summary>Opens the books in the bag's folder, which is there.</summary>
    public BagBooks(string folder, UnfinishedMark mark)
    {
        _folder = folder;
        _mark = mark;
        _bag = new BagWriter(folder);
        _table = new HashedFile(Path.Combine(folder, FileTable.Name));
        _table.Line(FileTable.Head);
    }

    /// <summary>Enters what was written for one finding.</summary>
    public void Enter(Outcome outcome, Action<HandoverProgress>? progress)
    {
        _table.Line(FileTable.Line(outcome.Placed, outcome.Files.Count > 0 ? outcome.Files[0] : null));
        Count(outcome.Placed.Finding);
        if (outcome.Files.Count > 0)
            _mark.Enter(outcome.Placed, outcome.Files[0]);
        foreach (Written written in outcome.Files)
        {
            _bag.Enter(written);
            progress?.Invoke(new HandoverProgress(_bag.Files, _bag.Bytes, written.Path));
        }
    }

    /// <summary>Writes the remaining tag files, closes the bag, and takes the mark of the unfinished away.</summary>
    public HandoverResult Close(HandoverOrder order)
    {
        _bag.Tag(FileTable.Name, _table.Finish());
        _bag.Tag(Instructions.Name, Instructions.Text.Split('\n'));
        _bag.Tag(BagInfo.Name, BagInfo.Lines(order, _bag.Bytes, _bag.Files));
        TwinDigest seal = _bag.Close();
        _mark.End();
        DurableTarget.Sync(_folder);
        return new HandoverResult(_folder, _bag.Files, _bag.Bytes, _delivered, _onlyNamed, seal.Sha512);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _bag.Dispose();
        _table.Dispose();
    }

    private void Count(FileFinding finding)
    {
        if (Shelf.Of(finding) is { } shelf)
            _delivered[shelf] = _delivered.GetValueOrDefault(shelf) + 1;
        else if (finding.Grade is not null)
            _onlyNamed++;
    }
}
