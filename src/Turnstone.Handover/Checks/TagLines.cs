using System.Text;

namespace Turnstone.Handover;

/// <summary>Reads a tag file line by line; LF, CR and CRLF each end a line (RFC 8493, section 2).</summary>
internal static class TagLines
{
    /// <summary>Longest line that is believed; a path of the longest kind takes a quarter of it.</summary>
    private const int LongestLine = 65_536;

    /// <summary>Lines with their numbers from 1. Stops with a problem where the file is no text in the encoding.</summary>
    public static IEnumerable<(int Number, string Text)> Read(string bag, string file, Encoding encoding, ProblemList problems)
    {
        using StreamReader? reader = Open(bag, file, encoding, problems);
        int number = 0;
        while (reader is not null && Next(reader, file, number + 1, problems) is { } line)
        {
            number++;
            if (number == 1 && line.StartsWith('\uFEFF'))
            {
                line = line[1..];
                if (file == Declaration.Name)
                    problems.NotComplete(file, 1, "starts with a byte order mark, which it must not have");
                else if (encoding is UTF8Encoding)
                    problems.Warning(file, 1, "starts with a byte order mark, over which other programs stumble");
            }

            yield return (number, line);
        }
    }

    private static StreamReader? Open(string bag, string file, Encoding encoding, ProblemList problems)
    {
        try
        {
            return new StreamReader(Path.Combine(bag, file), encoding, detectEncodingFromByteOrderMarks: false, 1 << 16);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            problems.NotComplete(file, 0, $"cannot be read: {e.Message}");
            return null;
        }
    }

    private static string? Next(StreamReader reader, string file, int number, ProblemList problems)
    {
        try
        {
            return Line(reader);
        }
        catch (DecoderFallbackException)
        {
            problems.NotComplete(file, number, "holds bytes that are no text in the encoding that bagit.txt declares");
        }
        catch (IOException e)
        {
            problems.NotComplete(file, number, $"cannot be read further: {e.Message}");
        }
        catch (InvalidDataException e)
        {
            problems.NotComplete(file, number, e.Message);
        }

        return null;
    }

    private static string? Line(StreamReader reader)
    {
        var line = new StringBuilder();
        int c;
        while ((c = reader.Read()) is not (-1 or '\n' or '\r'))
        {
            if (line.Length == LongestLine)
                throw new InvalidDataException($"a line of more than {LongestLine} characters");
            line.Append((char)c);
        }

        if (c == '\r' && reader.Peek() == '\n')
            _ = reader.Read();
        return c == -1 && line.Length == 0 ? null : line.ToString();
    }
}
