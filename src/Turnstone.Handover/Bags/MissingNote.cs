using System.Text;
using Turnstone.Findings;
using Turnstone.Media;

namespace Turnstone.Handover;

/// <summary>The plain-text note beside a holed file: which of its bytes are missing.</summary>
internal static class MissingNote
{
    /// <summary>The note as UTF-8.</summary>
    public static byte[] Of(FileFinding finding)
    {
        long size = finding.Entry.Size ?? 0;
        var text = new StringBuilder();
        text.Append("Parts of this file could not be read. They are filled with zero bytes; zeros elsewhere in the file are its own.\n\n");
        text.Append($"File:     {VisibleText.Of(finding.Entry.Path.ToString())}\n");
        text.Append($"Volume:   {VisibleText.Of(finding.Volume)}\n");
        text.Append($"Size:     {size} bytes\n");
        text.Append($"Missing:  {finding.MissingBytes} bytes, {Share(finding)} of the file, in {finding.Missing.Count} {(finding.Missing.Count == 1 ? "stretch" : "stretches")}\n");
        foreach (string note in finding.Notes)
            text.Append($"Note:     {VisibleText.Of(note)}\n");
        text.Append("\nFirst missing byte (counted from 0) and number of missing bytes:\n");
        foreach (ByteRange hole in finding.Missing)
            text.Append($"{hole.Offset} {hole.Length}\n");
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    /// <summary>The missing share as a percentage that is 0 only for nothing and 100 only for all.</summary>
    public static string Share(FileFinding finding)
    {
        if (finding.MissingBytes == 0)
            return "0 %";
        decimal percent = 100m * finding.MissingBytes / finding.Entry.Size!.Value;
        return percent switch
        {
            < 0.01m => "under 0.01 %",
            > 99.99m and < 100m => "over 99.99 %",
            _ => $"{percent:0.##} %",
        };
    }
}
