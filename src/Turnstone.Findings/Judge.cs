using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Grades one entry after another of a volume whose claims are known.</summary>
internal sealed class Judge(Claims claims, ISectorView view)
{
    // Where files may share blocks, a live owner does not mean that the deleted one lost them: that is a doubt, not a hole.
    private readonly bool _liveTakesOver = claims.Rule != SharingRule.Always;
    private readonly WithoutView _withoutLive = new(view, claims.Live);

    public FileFinding Of(string volume, Entry entry)
    {
        var finding = new FileFinding(volume, entry, entry.Deleted && _liveTakesOver ? _withoutLive : view) { Notes = entry.Notes };
        if (entry.Content is not { } content)
            return finding with { Grade = HasBytes(entry.Kind) ? Grade.Named : null };
        if (content is UnreadableContent unreadable)
            return OnlyNamed(finding, unreadable.Why);
        if (entry is { Deleted: true, Certainty: Certainty.Guessed })
            return OnlyNamed(finding, "where its bytes lie is a guess");
        return ByHeld(finding, content);
    }

    private static bool HasBytes(EntryKind kind) => kind switch
    {
        EntryKind.File or EntryKind.Stream or EntryKind.Link => true,
        EntryKind.Folder or EntryKind.Other => false,
    };

    private static FileFinding OnlyNamed(FileFinding finding, string why) => finding with
    {
        Grade = Grade.Named,
        Missing = finding.Entry.Size is > 0 and { } size ? [new ByteRange(0, size)] : [],
        Notes = [.. finding.Notes, why],
    };

    private FileFinding ByHeld(FileFinding finding, FileContent content)
    {
        List<ByteRange> missing = [.. content.Missing(finding.View)];
        long held = content.Length - missing.Sum(hole => hole.Length);
        List<string> doubts = [.. Doubts(finding.Entry)];
        Grade grade = missing.Count == 0 ? (doubts.Count == 0 ? Grade.Whole : Grade.Doubtful)
            : held == 0 ? Grade.Named
            : Grade.Holed;
        return finding with { Grade = grade, HeldBytes = held, Missing = missing, Notes = [.. finding.Notes, .. TakenOver(finding.Entry), .. doubts] };
    }

    private IEnumerable<string> Doubts(Entry entry)
    {
        if (entry.Certainty == Certainty.Guessed)
            yield return "its place or its folder is a guess";
        if (Shared(entry, entry.Deleted ? claims.DeletedCrossed : claims.Crossed) is > 0 and { } crossed)
            yield return $"{crossed} bytes are claimed by another {(entry.Deleted ? "deleted" : "live")} file as well: one of them has the wrong content";
        if (entry.Deleted && !_liveTakesOver && Shared(entry, claims.Live) is > 0 and { } shared)
            yield return $"{shared} bytes belong to a live file as well, which may have changed them";
        if (entry.Deleted && UsedByNoFile(entry) is > 0 and { } used)
            yield return $"{used} bytes lie in space that the volume says is in use: they may have been overwritten";
    }

    private IEnumerable<string> TakenOver(Entry entry)
    {
        if (entry.Deleted && _liveTakesOver && Shared(entry, claims.Live) is > 0 and { } taken)
            yield return $"{taken} bytes have been taken over by a live file";
    }

    private long UsedByNoFile(Entry entry) =>
        Claims.Places(entry).SelectMany(claims.InUse.Within).Sum(used => used.Length - claims.Live.BytesWithin(used));

    private static long Shared(Entry entry, RangeSet set) =>
        set.Ranges.Count == 0 ? 0 : Claims.Places(entry).Sum(set.BytesWithin);
}
