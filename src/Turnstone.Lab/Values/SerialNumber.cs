namespace Turnstone.Lab.Values;

/// <summary>A drive's serial number: printable ASCII without spaces, in capital letters, three characters or more.</summary>
public readonly record struct SerialNumber
{
    private readonly string? _text;

    private SerialNumber(string text) => _text = text;

    /// <summary>The number in capital letters.</summary>
    public string Text => _text ?? "";

    /// <summary>Reads what stands on a label; spaces around it are dropped, small letters become capital ones.</summary>
    /// <returns>What is wrong and what to do; null where it is right.</returns>
    public static string? TryRead(string? text, out SerialNumber serial)
    {
        serial = default;
        string trimmed = (text ?? "").Trim();
        int strange = trimmed.AsSpan().IndexOfAnyExceptInRange('!', '~');
        if (strange >= 0)
            return $"serial number {Shown(trimmed)} has U+{(int)trimmed[strange]:X4} at character {strange + 1}; serial numbers have ASCII letters, digits and marks only: type it from the label";
        if (trimmed.Length < 3)
            return $"serial number '{trimmed}' has {trimmed.Length} characters; at least 3 are needed for a mark";
        serial = new SerialNumber(trimmed.ToUpperInvariant());
        return null;
    }

    /// <inheritdoc/>
    public override string ToString() => Text;

    // A hostile or mistyped character is shown by its number, never sent to the terminal.
    private static string Shown(string text) => "'" + string.Concat(text.Select(c => c is >= ' ' and <= '~' ? c.ToString() : "?")) + "'";
}
