using System.Buffers;
using System.Text;
using System.Text.Unicode;

namespace Turnstone.Volumes.Ext;

/// <summary>Turns the bytes of a name into text without losing any.</summary>
/// <remarks>
/// Names on ext are bytes, nearly always UTF-8. A byte that is not part of valid UTF-8 shows as U+241B (the picture of
/// 'escape') and two hexadecimal digits; the bytes of a real U+241B (E2 90 9B) show the same way, so the text leads
/// back to exactly one name. Control characters stay as they are: who shows a name must expect them.
/// </remarks>
internal static class ExtNames
{
    private const char Mark = '\u241B';

    private static ReadOnlySpan<byte> MarkBytes => [0xE2, 0x90, 0x9B];

    /// <summary>The name as text.</summary>
    public static string Show(ReadOnlySpan<byte> name) =>
        name.IndexOf(MarkBytes) < 0 && Utf8.IsValid(name) ? Encoding.UTF8.GetString(name) : Escaped(name);

    private static string Escaped(ReadOnlySpan<byte> name)
    {
        var text = new StringBuilder();
        while (!name.IsEmpty)
        {
            bool valid = Rune.DecodeFromUtf8(name, out Rune rune, out int used) == OperationStatus.Done && rune.Value != Mark;
            if (valid)
                text.Append(rune);
            foreach (byte one in valid ? [] : name[..used])
                text.Append(Mark).Append(one.ToString("X2"));
            name = name[used..];
        }

        return text.ToString();
    }
}
