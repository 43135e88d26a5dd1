using System.Text.Json;

namespace Turnstone.Lab.Documents;

/// <summary>Reads and writes the lab's JSON documents; what is wrong is said with file, line and place.</summary>
public static class LabDocument
{
    /// <summary>Reads a document.</summary>
    /// <param name="file">Its name, for messages.</param>
    /// <param name="text">What stands in it.</param>
    /// <param name="check">What must hold beyond the form; null where nothing does. Its first complaint is the answer.</param>
    /// <typeparam name="T">A record whose required members the document must have.</typeparam>
    public static Understood<T> Read<T>(string file, string text, Func<T, IEnumerable<Complaint>>? check = null)
        where T : class
    {
        T? item;
        try
        {
            item = JsonSerializer.Deserialize<T>(text, LabJson.Options);
        }
        catch (JsonException e)
        {
            return new Understood<T>.Wrong(new Fault(file, (int)(e.LineNumber ?? -1) + 1, Place(e.Path), Plain(e.Message)));
        }
        catch (ArgumentException e)
        {
            // A record's own door (its constructor) refused the value.
            return new Understood<T>.Wrong(new Fault(file, 0, "", e.Message));
        }

        if (item is null)
            return new Understood<T>.Wrong(new Fault(file, 1, "", "the document is empty"));
        foreach (Complaint complaint in check?.Invoke(item) ?? [])
            return new Understood<T>.Wrong(new Fault(file, JsonLines.LineOf(text, complaint.Where), complaint.Where, complaint.What));
        return new Understood<T>.Value(item);
    }

    /// <summary>The document as text that <see cref="Read"/> takes back, ending in a line feed.</summary>
    public static string Write<T>(T item) => JsonSerializer.Serialize(item, LabJson.Options) + "\n";

    private static string Place(string? path) => path is null or "$" ? "" : path[(path.StartsWith("$.", StringComparison.Ordinal) ? 2 : 1)..];

    // The framework speaks of its own types; a technician wants to hear which name is missing or too many.
    private static string Plain(string message)
    {
        if (Between(message, "missing required properties including: ", ". Path") is { } missing)
            return $"missing: {missing.Replace("'", "").TrimEnd('.')}";
        if (Between(message, "The JSON property '", "' could not be mapped") is { } unknown)
            return $"'{unknown}' is not known here; is it misspelt?";
        if (message.StartsWith("The JSON value could not be converted", StringComparison.Ordinal))
            return "a value of another kind was expected (number, text in quotes, list in [ ], or group in { })";
        return Between(message, "", " Path: ") ?? Between(message, "", " LineNumber: ") ?? message;
    }

    private static string? Between(string text, string before, string after)
    {
        int from = text.IndexOf(before, StringComparison.Ordinal);
        if (from < 0)
            return null;
        int to = text.IndexOf(after, from, StringComparison.Ordinal);
        return before.Length > 0 ? text[(from + before.Length)..(to < 0 ? text.Length : to)] : to < 0 ? null : text[..to];
    }
}
