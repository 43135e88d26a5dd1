using System.Text.Json;

namespace Turnstone.Patients.Scenarios;

/// <summary>One object of a JSON text, which knows where it stands and which of its fields were asked for.</summary>
internal sealed class JsonCursor
{
    private readonly Dictionary<string, JsonElement> _fields = [];
    private readonly HashSet<string> _asked = [];

    public JsonCursor(JsonElement element, string path)
    {
        Path = path;
        if (element.ValueKind != JsonValueKind.Object)
            throw new ScenarioException(path, $"{Kind(element)}, where an object in braces belongs");
        foreach (JsonProperty field in element.EnumerateObject())
            _fields[field.Name] = field.Value;
    }

    public string Path { get; }

    /// <summary>Whether the field is there and not null.</summary>
    public bool Has(string name) => Find(name) is not null;

    public long Whole(string name, long least, long most, long? otherwise = null)
    {
        if (Find(name) is not { } value)
            return otherwise ?? throw Missing(name);
        if (value.ValueKind != JsonValueKind.Number || !value.TryGetInt64(out long number))
            throw Wrong(name, $"{Kind(value)}, where a whole number belongs");
        return least <= number && number <= most ? number : throw Wrong(name, $"{number}, which is not from {least} to {most}");
    }

    public int Int(string name, int least, int most, int? otherwise = null) => (int)Whole(name, least, most, otherwise);

    public ulong Seed(string name) =>
        Find(name) is not { } value ? throw Missing(name)
        : value.ValueKind == JsonValueKind.Number && value.TryGetUInt64(out ulong seed) ? seed
        : throw Wrong(name, $"{Kind(value)}, where a whole number from 0 to {ulong.MaxValue} belongs");

    public double Number(string name, double least, double most, double? otherwise = null) =>
        NumberOrNone(name, least, most) ?? otherwise ?? throw Missing(name);

    public double? NumberOrNone(string name, double least, double most) => Find(name) is { } value ? Checked(name, value, least, most) : null;

    public IReadOnlyList<double>? Numbers(string name, double least, double most) =>
        Find(name) is { } value ? [.. Items(name, value).Select((item, i) => Checked($"{name}[{i}]", item, least, most))] : null;

    public bool Flag(string name, bool otherwise) => Find(name) is not { } value ? otherwise : value.ValueKind switch
    {
        JsonValueKind.True => true,
        JsonValueKind.False => false,
        _ => throw Wrong(name, $"{Kind(value)}, where true or false belongs"),
    };

    public string Text(string name, string? otherwise = null) =>
        Find(name) is not { } value ? otherwise ?? throw Missing(name)
        : value.ValueKind == JsonValueKind.String ? value.GetString()!
        : throw Wrong(name, $"{Kind(value)}, where a text in quotes belongs");

    /// <summary>One of an enumeration's names, with a small first letter.</summary>
    public T Word<T>(string name, T otherwise)
        where T : struct, Enum
    {
        if (!Has(name))
            return otherwise;
        string text = Text(name);
        foreach (T word in Enum.GetValues<T>())
        {
            if (Written(word) == text)
                return word;
        }

        throw Wrong(name, $"'{text}', where one of {string.Join(", ", Enum.GetValues<T>().Select(Written))} belongs");
    }

    public JsonCursor? Object(string name) => Find(name) is { } value ? new JsonCursor(value, $"{Path}.{name}") : null;

    public IReadOnlyList<JsonCursor>? Objects(string name) =>
        Find(name) is { } value ? [.. Items(name, value).Select((item, i) => new JsonCursor(item, $"{Path}.{name}[{i}]"))] : null;

    public bool IsList(string name) => Find(name) is { ValueKind: JsonValueKind.Array };

    public bool IsText(string name) => Find(name) is { ValueKind: JsonValueKind.String };

    /// <summary>Refuses fields that nobody asked for: a misspelt one must not be passed over.</summary>
    public void End()
    {
        foreach (string name in _fields.Keys.Where(name => !_asked.Contains(name)))
            throw Wrong(name, $"there is no such field; known here: {string.Join(", ", _asked.Order())}");
    }

    public ScenarioException Wrong(string name, string what) => new($"{Path}.{name}", what);

    private static string Written<T>(T word)
        where T : struct, Enum => JsonNamingPolicy.CamelCase.ConvertName(word.ToString());

    private static string Kind(JsonElement value) => value.ValueKind switch
    {
        JsonValueKind.Object => "an object",
        JsonValueKind.Array => "a list",
        JsonValueKind.String => $"the text '{Short(value.GetString()!)}'",
        JsonValueKind.Number => Short(value.GetRawText()),
        JsonValueKind.True => "true",
        JsonValueKind.False => "false",
        JsonValueKind.Null => "null",
        JsonValueKind.Undefined => "nothing",
    };

    // A file is a stranger's: its text goes to a terminal short and without control characters.
    private static string Short(string text) => new([.. text.Take(40).Select(c => char.IsControl(c) ? '?' : c)]);

    private JsonElement.ArrayEnumerator Items(string name, JsonElement value) =>
        value.ValueKind == JsonValueKind.Array ? value.EnumerateArray() : throw Wrong(name, $"{Kind(value)}, where a list in brackets belongs");

    private double Checked(string name, JsonElement value, double least, double most)
    {
        if (value.ValueKind != JsonValueKind.Number || !value.TryGetDouble(out double number))
            throw Wrong(name, $"{Kind(value)}, where a number belongs");
        return least <= number && number <= most ? number : throw Wrong(name, $"{number}, which is not from {least} to {most}");
    }

    private JsonElement? Find(string name)
    {
        _asked.Add(name);
        return _fields.TryGetValue(name, out JsonElement value) && value.ValueKind != JsonValueKind.Null ? value : null;
    }

    private ScenarioException Missing(string name) => Wrong(name, "is missing");
}
