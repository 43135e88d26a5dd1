using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Unicode;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Writes findings as JSON, one object a line; the form is described in docs/formats/files-json.md.</summary>
/// <param name="to">Where the lines go; stays open. Flush with <see cref="Dispose"/>.</param>
public sealed class FindingJson(Stream to) : IDisposable
{
    private static readonly JavaScriptEncoder Visible = MakeEncoder();
    private readonly BufferedStream _out = new(to, 1 << 16);
    private readonly Utf8JsonWriter _json = new(Stream.Null, new JsonWriterOptions { Encoder = Visible });

    /// <summary>Writes one finding.</summary>
    /// <param name="finding">What to write.</param>
    /// <param name="sha256">Digest of the whole content, where it was asked for and all bytes are held.</param>
    /// <exception cref="IOException">The target does not take it.</exception>
    public void Write(FileFinding finding, string? sha256 = null)
    {
        _json.Reset(_out);
        _json.WriteStartObject();
        string path = finding.Entry.Path.ToString();
        WriteAsked(finding, path);
        WriteFurther(finding, path, sha256);
        _json.WriteEndObject();
        _json.Flush();
        _out.WriteByte((byte)'\n');
    }

    /// <summary>Hands on what is still in the buffer; the target stays open.</summary>
    public void Dispose()
    {
        _json.Dispose();
        _out.Flush();
    }

    private void WriteAsked(FileFinding finding, string path)
    {
        Entry entry = finding.Entry;
        _json.WriteString("volume", finding.Volume);
        _json.WriteString("path", WithoutLoneSurrogates(path));
        _json.WriteString("kind", entry.Kind.Word());
        WriteNumber("size", entry.Size);
        _json.WriteBoolean("deleted", entry.Deleted);
        _json.WriteString("grade", finding.Grade?.Word());
        WriteNumber("heldBytes", finding.Grade is null ? null : finding.HeldBytes);
        WriteMissing(finding.Missing);
        WriteExtents(entry.Content?.Extents);
        WriteTime("modified", entry.Times.Modified);
    }

    private void WriteFurther(FileFinding finding, string path, string? sha256)
    {
        _json.WriteString("certainty", finding.Entry.Certainty.Word());
        _json.WriteString("origin", finding.Entry.Origin.Word());
        _json.WriteStartArray("notes");
        foreach (string note in finding.Notes)
            _json.WriteStringValue(WithoutLoneSurrogates(note));
        _json.WriteEndArray();
        WriteKnownExtents(finding.Entry.Content?.Extents);
        WriteExactPath(path);
        if (sha256 is not null)
            _json.WriteString("sha256", sha256);
    }

    private void WriteMissing(IReadOnlyList<ByteRange> missing)
    {
        _json.WriteStartArray("missing");
        foreach (ByteRange hole in missing)
            WriteStretch(hole.Offset, hole.Length);
        _json.WriteEndArray();
    }

    private void WriteExtents(IReadOnlyList<Extent>? extents)
    {
        if (extents is null || extents.Any(extent => extent.Kind == ExtentKind.Unknown))
        {
            _json.WriteNull("extents");
            return;
        }

        _json.WriteStartArray("extents");
        foreach (Extent extent in extents)
            WriteStretch(extent.Kind == ExtentKind.Stored ? extent.Offset : null, extent.Length);
        _json.WriteEndArray();
    }

    // A null offset means zeros to a reader, so a file with an unknown stretch cannot be told by 'extents'.
    private void WriteKnownExtents(IReadOnlyList<Extent>? extents)
    {
        if (extents?.Any(extent => extent.Kind == ExtentKind.Unknown) != true)
            return;
        _json.WriteStartArray("knownExtents");
        long at = 0;
        foreach (Extent extent in extents)
        {
            if (extent.Kind != ExtentKind.Unknown)
                WriteStretch(extent.Kind == ExtentKind.Stored ? extent.Offset : null, extent.Length, at);
            at += extent.Length;
        }

        _json.WriteEndArray();
    }

    private void WriteStretch(long? offset, long length, long? fileOffset = null)
    {
        _json.WriteStartObject();
        if (fileOffset is { } at)
            _json.WriteNumber("fileOffset", at);
        WriteNumber("offset", offset);
        _json.WriteNumber("length", length);
        _json.WriteEndObject();
    }

    private void WriteNumber(string name, long? value)
    {
        if (value is { } number)
            _json.WriteNumber(name, number);
        else
            _json.WriteNull(name);
    }

    // Raw, because the encoder would write the '+' of the zone as \u002B.
    private void WriteTime(string name, DateTimeOffset? time)
    {
        _json.WritePropertyName(name);
        _json.WriteRawValue(time is { } known ? $"\"{EntryWords.Iso8601(known)}\"" : "null");
    }

    private void WriteExactPath(string path)
    {
        if (!HasLoneSurrogate(path))
            return;
        _json.WriteString("pathUtf16", string.Concat(path.Select(unit => ((int)unit).ToString("x4"))));
    }

    private static bool HasLoneSurrogate(string text)
    {
        for (int i = 0; i < text.Length; i++)
        {
            if (!char.IsSurrogate(text[i]))
                continue;
            if (!char.IsHighSurrogate(text[i]) || i + 1 == text.Length || !char.IsLowSurrogate(text[i + 1]))
                return true;
            i++;
        }

        return false;
    }

    private static string WithoutLoneSurrogates(string text) =>
        HasLoneSurrogate(text) ? string.Concat(text.EnumerateRunes()) : text;

    private static JavaScriptEncoder MakeEncoder()
    {
        var settings = new TextEncoderSettings(UnicodeRanges.All);
        for (int c = 0; c <= char.MaxValue; c++)
        {
            if (Rune.IsValid(c) && VisibleText.IsTreacherous(new Rune(c)))
                settings.ForbidCharacter((char)c);
        }

        return JavaScriptEncoder.Create(settings);
    }
}
