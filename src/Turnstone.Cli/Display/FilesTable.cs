using Spectre.Console;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Cli.Display;

/// <summary>The client's files for a person: volumes, then each file that is not whole, then completeness by folder, then one sentence.</summary>
internal static class FilesTable
{
    private const int FoldersShown = 40;

    public static string Write(IAnsiConsole console, Disk disk, ISectorView held, bool digests)
    {
        long missing = WriteVolumes(console, disk, held);
        var completeness = new Completeness();
        foreach (FileFinding finding in completeness.Watch(new Grader(held).Findings(disk)))
        {
            if (digests && ContentDigest.Sha256(finding) is { } digest)
                WriteLine(console, $"{digest}  {Name(finding)}");
            else if (finding.Grade is Grade.Holed or Grade.Doubtful or Grade.Named && !finding.Entry.Deleted)
                WriteLine(console, $"  {finding.Grade.Value.Word(),-8} {Name(finding)}: {Trouble(finding)}");
        }

        WriteFolders(console, completeness);
        string sentence = Sentence(completeness, missing);
        WriteLine(console, sentence);
        return sentence;
    }

    // Answers how many bytes of all volumes' tables and folders are not held.
    private static long WriteVolumes(IAnsiConsole console, Disk disk, ISectorView held)
    {
        WriteLine(console, disk.Volumes.Count == 0
            ? $"No volume was found (partition table: {disk.Table}). If the drive came with a bridge board, its board may encrypt. Else more has to be read first, or --search finds volumes without a table."
            : $"partition table: {disk.Table}");
        foreach (string note in disk.Notes)
            WriteLine(console, $"  note: {note}");
        long all = 0;
        foreach (Volume volume in disk.Volumes)
        {
            VolumeFacts facts = volume.Facts;
            string label = facts.Label is { } text ? $" '{text}'" : "";
            WriteLine(console, $"  {facts.Name}: {facts.Kind}{label}, {Plain.Bytes(facts.Place.Length)} from byte {facts.Place.Offset}");
            foreach (string note in facts.Notes)
                WriteLine(console, $"      note: {note}");
            long missing = Skeleton.Of(volume, held).Missing;
            all += missing;
            if (missing > 0)
                WriteLine(console, $"      note: {Plain.Bytes(missing)} of this volume's own tables and folders are not held: there may be files that no list shows");
        }

        return all;
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

    // The whole list in one sentence.
    private static string Sentence(Completeness completeness, long missingTables)
    {
        Tally total = completeness.Total();
        string more = missingTables == 0 ? "" : $" There may be more: {Plain.Bytes(missingTables)} of tables and folders are missing.";
        return total.Files == 0
            ? "No file is known yet." + more
            : $"{total.Whole + total.Proven} of {total.Files} files are whole; {total.Holed} with holes, {total.Doubtful} doubtful, {total.Named} known by name only. {Plain.Share(total.HeldBytes, total.TotalBytes)} of all files' bytes are held.{more}";
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
