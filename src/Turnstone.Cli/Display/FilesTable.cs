using Spectre.Console;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Cli.Display;

/// <summary>The client's files for a person: volumes, then each file that is not whole, then completeness by folder, then one sentence.</summary>
internal static class FilesTable
{
    private const int FoldersShown = 40;

    public static Completeness Write(IAnsiConsole console, Disk disk, IEnumerable<FileFinding> findings, bool digests)
    {
        WriteVolumes(console, disk);
        var completeness = new Completeness();
        foreach (FileFinding finding in completeness.Watch(findings))
        {
            if (digests && ContentDigest.Sha256(finding) is { } digest)
                WriteLine(console, $"{digest}  {Name(finding)}");
            else if (finding.Grade is Grade.Holed or Grade.Doubtful or Grade.Named && !finding.Entry.Deleted)
                WriteLine(console, $"  {finding.Grade.Value.Word(),-8} {Name(finding)}: {Trouble(finding)}");
        }

        WriteFolders(console, completeness);
        WriteLine(console, Sentence(completeness));
        return completeness;
    }

    private static void WriteVolumes(IAnsiConsole console, Disk disk)
    {
        WriteLine(console, disk.Volumes.Count == 0
            ? $"No volume was found (partition table: {disk.Table}). If the drive came with a bridge board, its board may encrypt; else more has to be read first."
            : $"partition table: {disk.Table}");
        foreach (string note in disk.Notes)
            WriteLine(console, $"  note: {note}");
        foreach (VolumeFacts facts in disk.Volumes.Select(volume => volume.Facts))
        {
            string label = facts.Label is { } text ? $" '{text}'" : "";
            WriteLine(console, $"  {facts.Name}: {facts.Kind}{label}, {Plain.Bytes(facts.Place.Length)} from byte {facts.Place.Offset}");
            foreach (string note in facts.Notes)
                WriteLine(console, $"      note: {note}");
        }
    }

    private static void WriteFolders(IAnsiConsole console, Completeness completeness)
    {
        List<FolderCompleteness> folders = [.. completeness.Folders()];
        var table = new Table { Border = TableBorder.Simple };
        table.AddColumns("folder (with all below it)", "files", "whole", "holed", "doubtful", "named", "bytes held");
        foreach (FolderCompleteness folder in folders.Take(FoldersShown))
        {
            Tally all = folder.All;
            string name = folder.Folder.IsRoot ? folder.Volume : $"{folder.Volume}/{folder.Folder}";
            table.AddRow(Escaped(name), $"{all.Files}", $"{all.Whole + all.Proven}", $"{all.Holed}", $"{all.Doubtful}", $"{all.Named}", Plain.Share(all.HeldBytes, all.TotalBytes));
        }

        console.Write(table);
        if (folders.Count > FoldersShown)
            WriteLine(console, $"  ... and {folders.Count - FoldersShown} more folders");
    }

    /// <summary>The whole list in one sentence.</summary>
    public static string Sentence(Completeness completeness)
    {
        Tally total = completeness.Total();
        long whole = total.Whole + total.Proven;
        return total.Files == 0
            ? "No file is known yet."
            : $"{whole} of {total.Files} files are whole; {total.Holed} have holes, {total.Doubtful} are doubtful, {total.Named} are known by name only. {Plain.Share(total.HeldBytes, total.TotalBytes)} of all files' bytes are held.";
    }

    private static string Name(FileFinding finding) => $"{finding.Volume}/{finding.Entry.Path}";

    private static string Trouble(FileFinding finding)
    {
        string size = finding.Entry.Size is { } bytes ? Plain.Bytes(bytes) : "size not known";
        string missing = finding.Missing.Count switch
        {
            0 => "",
            1 => $"; bytes {finding.Missing[0].Offset} to {finding.Missing[0].End - 1} are missing",
            _ => $"; {Plain.Bytes(finding.MissingBytes)} are missing in {finding.Missing.Count} places, the first at byte {finding.Missing[0].Offset}",
        };
        string notes = finding.Notes.Count == 0 ? "" : $" ({string.Join("; ", finding.Notes)})";
        return size + missing + notes;
    }

    private static void WriteLine(IAnsiConsole console, string text) => console.WriteLine(VisibleText.Of(text));

    private static string Escaped(string text) => Markup.Escape(VisibleText.Of(text));
}
