using System.Text;
using System.Text.Json;

namespace Turnstone.Lab.Documents;

/// <summary>On which line of a JSON text a named place stands.</summary>
internal static class JsonLines
{
    /// <summary>The line, counted from 1, of the value at a place such as 'failures[3].prior'; of the nearest place above it where it isn't there.</summary>
    public static int LineOf(string text, string place)
    {
        byte[] bytes = Encoding.UTF8.GetBytes(text);
        var reader = new Utf8JsonReader(bytes, new JsonReaderOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
        var at = new Stack<Step>();
        int line = 1, best = -1;
        while (reader.Read())
        {
            if (reader.TokenType is JsonTokenType.EndArray or JsonTokenType.EndObject)
            {
                at.Pop();
                continue;
            }

            if (reader.TokenType == JsonTokenType.PropertyName)
            {
                Rename(at, reader.GetString()!);
                continue;
            }

            Count(at);
            string here = string.Concat(at.Reverse().Select(s => s.Text)).TrimStart('.');
            if (here.Length > best && IsAtOrAbove(here, place))
                (best, line) = (here.Length, 1 + bytes.AsSpan(0, (int)reader.TokenStartIndex).Count((byte)'\n'));
            if (reader.TokenType is JsonTokenType.StartArray or JsonTokenType.StartObject)
                at.Push(new Step(reader.TokenType == JsonTokenType.StartArray, "", -1));
        }

        return line;
    }

    private static bool IsAtOrAbove(string here, string place) =>
        here.Length == 0 || (place.StartsWith(here, StringComparison.Ordinal) && (place.Length == here.Length || place[here.Length] is '.' or '['));

    private static void Rename(Stack<Step> at, string name) => at.Push(at.Pop() with { Text = "." + name });

    private static void Count(Stack<Step> at)
    {
        if (at.TryPeek(out Step top) && top.IsList)
            at.Push(at.Pop() with { Index = top.Index + 1, Text = $"[{top.Index + 1}]" });
    }

    private readonly record struct Step(bool IsList, string Text, int Index);
}
