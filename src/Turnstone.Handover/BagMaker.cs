using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>Makes the bag that the client gets: the files, a table of all names, digests, and how to check them.</summary>
/// <remarks>
/// RFC 8493 (BagIt 1.0). Nothing is written outside the bag's folder, whatever the names on the patient. While the bag
/// is being made it holds the file 'unfinished-handover.txt' and no 'bagit.txt', so nobody can take it for a finished one.
/// </remarks>
/// <param name="order">What is to be made; a maker makes one bag.</param>
public sealed class BagMaker(HandoverOrder order)
{
    private const int FilesAhead = 32;
    private const long LargeBytes = 1 << 20;

    private readonly string _bag = Path.GetFullPath(order.Folder);
    private readonly PlaceGiver _places = new(order.Limits);
    private readonly FolderTimes _folderTimes = new();
    private readonly HashSet<string> _made = new(StringComparer.Ordinal);

    /// <summary>Writes everything; the bag is complete and durable when it returns.</summary>
    /// <param name="findings">What was found, streamed; each is read once.</param>
    /// <param name="progress">Told after every payload file, on the caller's thread.</param>
    /// <param name="stop">Stops between two files and leaves the bag marked as unfinished.</param>
    /// <exception cref="HandoverException">The target is not empty, is full or cannot be written; the image gives no longer what it held.</exception>
    /// <exception cref="OperationCanceledException"><paramref name="stop"/> was set.</exception>
    public HandoverResult Make(IEnumerable<FileFinding> findings, Action<HandoverProgress>? progress = null, CancellationToken stop = default)
    {
        try
        {
            using UnfinishedMark mark = UnfinishedMark.Begin(_bag, order);
            using var books = new BagBooks(_bag, mark);
            foreach (Outcome outcome in Ahead.InOrder(Placed(findings, stop), placed => Write(placed, mark.Earlier), IsLarge, FilesAhead))
            {
                stop.ThrowIfCancellationRequested();
                books.Enter(outcome, progress);
            }

            mark.Earlier.DropRest();
            _folderTimes.Set(_bag, _places);
            return books.Close(order);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw TargetTrouble.Explain(_bag, e);
        }
    }

    private static bool IsLarge(Placed placed) => placed.Path is not null && placed.Finding.Entry.Size > LargeBytes;

    private IEnumerable<Placed> Placed(IEnumerable<FileFinding> findings, CancellationToken stop)
    {
        foreach (FileFinding finding in ImageTrouble.Watch(findings))
        {
            stop.ThrowIfCancellationRequested();
            _folderTimes.Note(finding);
            Placed placed = _places.Of(finding);
            if (placed.Path is { } path && Path.GetDirectoryName(path) is { } folder && _made.Add(folder))
                Directory.CreateDirectory(Path.Combine(_bag, folder));
            yield return placed;
        }
    }

    private Outcome Write(Placed placed, EarlierWork earlier)
    {
        if (placed.Path is not { } path)
            return new Outcome(placed, []);
        Written file = placed.Finding.Entry.Kind == EntryKind.Link
            ? PayloadFile.WriteText(_bag, path, LinkNote.Of(placed.Finding))
            : earlier.Keep(placed) ?? PayloadFile.Write(_bag, placed);
        return placed.NotePath is { } note
            ? new Outcome(placed, [file, PayloadFile.WriteText(_bag, note, MissingNote.Of(placed.Finding))])
            : new Outcome(placed, [file]);
    }
}
