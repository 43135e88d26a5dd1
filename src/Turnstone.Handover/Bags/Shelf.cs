using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>The folder below data/ in which files of one grade lie, so that nobody takes a holed file for a whole one.</summary>
internal static class Shelf
{
    /// <summary>The folder's name, or null where there is nothing to deliver but the name.</summary>
    public static string? Of(FileFinding finding) => (finding.Grade, finding.Entry.Deleted) switch
    {
        (Grade.Proven, false) => "proven",
        (Grade.Whole, false) => "whole",
        (Grade.Doubtful, false) => "doubtful",
        (Grade.Holed, false) => "holed",
        (Grade.Traced, false) => "traced",
        (Grade.Proven or Grade.Whole or Grade.Traced, true) => "deleted",
        (Grade.Doubtful, true) => "deleted-doubtful",
        (Grade.Holed, true) => "deleted-holed",
        _ => null,
    };

    /// <summary>Every shelf of live files, or of deleted ones.</summary>
    public static IReadOnlyList<string> All(bool deleted) =>
        deleted ? ["deleted", "deleted-doubtful", "deleted-holed"] : ["proven", "whole", "doubtful", "holed", "traced"];
}
