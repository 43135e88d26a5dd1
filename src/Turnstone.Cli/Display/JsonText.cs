using System.Text.Encodings.Web;
using System.Text.Json;
using Turnstone.Media;
using Turnstone.Reading;

namespace Turnstone.Cli.Display;

/// <summary>How JSON is written here: names in camel case, other scripts left readable.</summary>
internal static class JsonText
{
    public static JsonSerializerOptions Options { get; } = new(JsonSerializerDefaults.Web)
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        NumberHandling = System.Text.Json.Serialization.JsonNumberHandling.Strict,
    };

    public static object Totals(MapTotals totals) => new { totals.Unasked, totals.Held, totals.PassedOver, totals.Refused, totals.Withheld };

    public static string? Cause(RefusalCause? cause) => cause is { } why ? JsonNamingPolicy.KebabCaseLower.ConvertName(why.ToString()) : null;
}
