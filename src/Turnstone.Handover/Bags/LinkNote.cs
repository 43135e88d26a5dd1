using System.Text;
using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>The text that is delivered in place of a symbolic link: a link could lead out of the bag.</summary>
internal static class LinkNote
{
    private const int LongestTarget = 65_536;

    /// <summary>The note as UTF-8.</summary>
    public static byte[] Of(FileFinding finding)
    {
        byte[] target = new byte[Math.Min(finding.Entry.Size ?? 0, LongestTarget)];
        ImageTrouble.TryRead(finding, 0, target);
        return Encoding.UTF8.GetBytes($"This was a symbolic link. It is delivered as this note, not as a link.\n\nLink:    "
            + $"{VisibleText.Of(finding.Entry.Path.ToString())}\nTarget:  {VisibleText.Of(Encoding.UTF8.GetString(target))}\n");
    }
}
