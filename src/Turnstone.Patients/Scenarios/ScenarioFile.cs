using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;

namespace Turnstone.Patients.Scenarios;

/// <summary>A scenario as a JSON file; docs/formats/scenario.md has the fields and an example.</summary>
public static class ScenarioFile
{
    private static readonly JsonDocumentOptions Strict = new() { AllowDuplicateProperties = false, MaxDepth = 16 };

    private static readonly JsonSerializerOptions Plain = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.CamelCase) },
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        WriteIndented = true,
    };

    /// <summary>Reads a scenario from a file; paths in it count from the file's folder.</summary>
    public static Checked<Scenario> Open(string path)
    {
        try
        {
            return Parse(File.ReadAllText(path), Path.GetDirectoryName(Path.GetFullPath(path))!);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return new Checked<Scenario>.Refused("", $"the scenario {path} cannot be read: {e.Message}");
        }
    }

    /// <summary>Reads a scenario from a text.</summary>
    /// <param name="text">JSON.</param>
    /// <param name="folder">Where paths in it count from.</param>
    public static Checked<Scenario> Parse(string text, string folder)
    {
        try
        {
            using var document = JsonDocument.Parse(text, Strict);
            return new Checked<Scenario>.Value(ScenarioReader.Read(document.RootElement, folder));
        }
        catch (ScenarioException e)
        {
            return new Checked<Scenario>.Refused(e.Path, e.Message);
        }
        catch (JsonException e)
        {
            return new Checked<Scenario>.Refused("$", $"not JSON that can be read, line {e.LineNumber + 1}, byte {e.BytePositionInLine + 1}: {e.Message}");
        }
    }

    /// <summary>Writes a scenario so that <see cref="Parse"/> gives it back.</summary>
    public static string Write(Scenario scenario)
    {
        var root = (JsonObject)JsonSerializer.SerializeToNode(scenario, Plain)!;
        root["damage"] = new JsonArray([.. scenario.Damage.Select(d => WithKind(d))]);
        root["content"] = WithKind(scenario.Content);
        return root.ToJsonString(Plain);
    }

    private static JsonObject WithKind(object item)
    {
        var node = (JsonObject)JsonSerializer.SerializeToNode(item, item.GetType(), Plain)!;
        node.Insert(0, "kind", JsonNamingPolicy.CamelCase.ConvertName(item.GetType().Name));
        return node;
    }
}
