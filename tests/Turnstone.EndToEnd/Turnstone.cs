using System.Diagnostics;
using System.Text.Json;
using Turnstone.Bench;

namespace Turnstone.EndToEnd;

/// <summary>The built program, started as its user starts it.</summary>
internal static class Program
{
    public static string Path { get; } = System.IO.Path.Combine(AppContext.BaseDirectory, "turnstone");

    /// <summary>Runs a verb to its end.</summary>
    public static ToolResult Run(params ReadOnlySpan<string> arguments) => Tool.Try(Path, arguments);

    /// <summary>Runs a verb that must succeed.</summary>
    public static string Done(params ReadOnlySpan<string> arguments) => Tool.Run(Path, arguments);

    /// <summary>Starts a verb and leaves it running.</summary>
    public static Process Start(params ReadOnlySpan<string> arguments) => Tool.Start(Path, arguments);

    /// <summary>What 'files --json' says, one object an entry.</summary>
    public static IReadOnlyList<Listed> Files(string patient, params ReadOnlySpan<string> more) =>
        [.. Done(["files", patient, "--json", .. more]).Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => Listed.Parse(line))];

    /// <summary>What 'map --json' says of the sectors in one state.</summary>
    public static IReadOnlyList<(long First, long Count)> Ranges(string folder, string state)
    {
        using JsonDocument map = JsonDocument.Parse(Done("map", folder, "--json"));
        return [.. map.RootElement.GetProperty("ranges").EnumerateArray()
            .Where(range => range.GetProperty("state").GetString() == state)
            .Select(range => (range.GetProperty("first").GetInt64(), range.GetProperty("count").GetInt64()))];
    }
}

/// <summary>One line of 'files --json'.</summary>
internal sealed record Listed(string Path, string Kind, bool Deleted, string? Grade, long? Size, string? Sha256, IReadOnlyList<(long Offset, long Length)> Missing, IReadOnlyList<(long? Offset, long Length)>? Extents)
{
    public static Listed Parse(string line)
    {
        using JsonDocument json = JsonDocument.Parse(line);
        JsonElement e = json.RootElement;
        JsonElement extents = e.GetProperty("extents");
        return new Listed(
            e.GetProperty("path").GetString()!,
            e.GetProperty("kind").GetString()!,
            e.GetProperty("deleted").GetBoolean(),
            e.GetProperty("grade").GetString(),
            e.GetProperty("size").ValueKind == JsonValueKind.Null ? null : e.GetProperty("size").GetInt64(),
            e.TryGetProperty("sha256", out JsonElement digest) ? digest.GetString() : null,
            [.. e.GetProperty("missing").EnumerateArray().Select(m => (m.GetProperty("offset").GetInt64(), m.GetProperty("length").GetInt64()))],
            extents.ValueKind == JsonValueKind.Null ? null : [.. extents.EnumerateArray().Select(x => (
                x.GetProperty("offset").ValueKind == JsonValueKind.Null ? (long?)null : x.GetProperty("offset").GetInt64(), x.GetProperty("length").GetInt64()))]);
    }
}
