using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Documents;

/// <summary>How the lab's documents are written in JSON: camel case, amounts with their unit, enums in words, nothing unknown.</summary>
public static class LabJson
{
    /// <summary>Settings for indented documents.</summary>
    public static JsonSerializerOptions Options { get; } = Make(indented: true);

    /// <summary>Settings for one document on one line.</summary>
    public static JsonSerializerOptions OneLine { get; } = Make(indented: false);

    private static JsonSerializerOptions Make(bool indented)
    {
        var options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
            ReadCommentHandling = JsonCommentHandling.Skip,
            AllowTrailingCommas = true,
            AllowDuplicateProperties = false,
            RespectNullableAnnotations = true,
            RespectRequiredConstructorParameters = true,
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            // Serial numbers and names stay readable; the documents are never pasted into a page.
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
            WriteIndented = indented,
            NewLine = "\n",
        };
        options.Converters.Add(new ProbabilityJson());
        options.Converters.Add(new WordsJson());
        options.Converters.Add(new TextJson<Money>(Money.TryRead, m => m.ToString()));
        options.Converters.Add(new TextJson<Currency>(ReadCurrency, c => c.Code));
        options.Converters.Add(new TextJson<Sha256Digest>(Sha256Digest.TryRead, d => d.Hex));
        options.Converters.Add(new TextJson<SerialNumber>(SerialNumber.TryRead, s => s.Text));
        options.Converters.Add(new TextJson<TimeSpan>(Durations.TryRead, Durations.Write));
        AddQuantities(options);
        return options;
    }

    private static void AddQuantities(JsonSerializerOptions options)
    {
        options.Converters.Add(new TextJson<Length>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Area>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Volume>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Speed>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Flow>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Density>(Quantity.TryRead, Quantity.Write));
        options.Converters.Add(new TextJson<Concentration>(Quantity.TryRead, Quantity.Write));
    }

    private static string? ReadCurrency(string? text, out Currency currency)
    {
        currency = Currency.IsCode(text) ? new Currency(text!) : default;
        return currency == default ? $"'{text}' is no currency code; write three capital letters, like EUR" : null;
    }
}
