using System.Collections.Frozen;
using System.Text;
using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>Turns a name from a client's disk into one that every common system takes and that means nothing but itself.</summary>
/// <remarks>
/// Characters and names that Windows reserves: Microsoft, Naming Files, Paths, and Namespaces (from memory).
/// '%' goes too: in a bag's manifest it would have to be encoded, and sha256sum would not find the file.
/// </remarks>
internal static class SafeName
{
    private const int LongestExtension = 16;
    private const string Reserved = "<>:\"/\\|?*%";

    private static readonly FrozenSet<string> Devices = Enumerable.Range(0, 10)
        .SelectMany(n => (string[])[$"COM{n}", $"LPT{n}"])
        .Concat(["CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$", "CLOCK$", "COM¹", "COM²", "COM³", "LPT¹", "LPT²", "LPT³"])
        .ToFrozenSet(StringComparer.OrdinalIgnoreCase);

    /// <summary>A safe name that keeps as much of the original as it can.</summary>
    /// <param name="original">Any text.</param>
    /// <param name="units">Longest result in UTF-16 units.</param>
    /// <param name="bytes">Longest result in UTF-8 bytes.</param>
    /// <param name="tail">Goes before the extension: what tells twins apart.</param>
    /// <param name="ending">Goes after everything: the ending of a note that stands beside the file.</param>
    public static string Of(string original, int units, int bytes, string tail = "", string ending = "")
    {
        string name = Replace(original);
        if (name.AsSpan().Trim(" .").IsEmpty)
            name = "_" + new string('_', name.Length);
        if (IsDevice(name))
            name = "_" + name;
        string extension = Extension(name);
        string stem = name[..^extension.Length];
        string end = tail + extension + ending;
        string cut = Cut(stem, units - end.Length, bytes - Encoding.UTF8.GetByteCount(end));
        string safe = cut + end;
        return safe[^1] is ' ' or '.' ? safe[..^1] + "_" : safe;
    }

    private static string Replace(string original)
    {
        var name = new StringBuilder(original.Length);
        foreach (Rune rune in original.EnumerateRunes())
        {
            bool safe = rune != Rune.ReplacementChar && !VisibleText.IsTreacherous(rune) && !(rune.IsAscii && Reserved.Contains((char)rune.Value));
            name.Append(safe ? rune.ToString() : "_");
        }

        return name.ToString();
    }

    private static string Extension(string name)
    {
        int dot = name.LastIndexOf('.');
        return dot > 0 && name.Length - dot is > 1 and <= LongestExtension ? name[dot..] : "";
    }

    private static string Cut(string stem, int units, int bytes)
    {
        int kept = 0;
        foreach (Rune rune in stem.EnumerateRunes())
        {
            units -= rune.Utf16SequenceLength;
            bytes -= rune.Utf8SequenceLength;
            if (units < 0 || bytes < 0)
                break;
            kept += rune.Utf16SequenceLength;
        }

        return stem[..kept];
    }

    private static bool IsDevice(string name)
    {
        int dot = name.IndexOf('.');
        return Devices.Contains((dot < 0 ? name : name[..dot]).TrimEnd(' '));
    }
}
