using System.Globalization;
using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>One line of the table of all files; the form is described in docs/formats/bag.md.</summary>
internal static class FileTable
{
    /// <summary>Name of the table in the bag.</summary>
    public const string Name = "files.tsv";

    /// <summary>The columns.</summary>
    public const string Head = "delivered\toriginal\tvolume\tkind\tdeleted\tgrade\tsize\theld bytes\tmissing bytes\tmissing share\tmodified\tsha256\tnotes";

    /// <summary>The line of one finding.</summary>
    public static string Line(Placed placed, Written? written)
    {
        FileFinding finding = placed.Finding;
        Entry entry = finding.Entry;
        bool graded = finding.Grade is not null;
        return string.Join('\t',
            Cell(placed.Path ?? ""), PathCell(entry.Path), Cell(finding.Volume), entry.Kind.Word(), entry.Deleted ? "yes" : "no",
            finding.Grade?.Word() ?? "", entry.Size?.ToString(CultureInfo.InvariantCulture) ?? "",
            graded ? $"{finding.HeldBytes}" : "", graded ? $"{finding.MissingBytes}" : "", graded ? MissingNote.Share(finding) : "",
            entry.Times.Modified is { } modified ? EntryWords.Iso8601(modified) : "",
            written?.Digest.Sha256 ?? "", Cell(string.Join("; ", finding.Notes)));
    }

    /// <summary>The names that a cell of the column 'original' was made from.</summary>
    public static IReadOnlyList<string> ParsePath(string cell) => cell.Length == 0 ? [] : [.. cell.Split('/').Select(VisibleText.Parse)];

    // A '/' inside a name is written out, so that splitting at '/' gives the names again.
    private static string PathCell(EntryPath path) =>
        Plain(string.Join('/', path.Names.Select(name => VisibleText.Of(name).Replace("/", @"\u002F", StringComparison.Ordinal))));

    private static string Cell(string text) => Plain(VisibleText.Of(text));

    // Spreadsheets run a cell that starts like a formula and swallow lines after a quotation mark.
    private static string Plain(string cell) =>
        cell.Length > 0 && cell[0] is '=' or '+' or '-' or '@' or '"' ? $@"\u{(int)cell[0]:X4}{cell[1..]}" : cell;
}
