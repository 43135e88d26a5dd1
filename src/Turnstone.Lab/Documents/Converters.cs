using System.Text.Json;
using System.Text.Json.Serialization;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Documents;

/// <summary>Reads a value from what somebody wrote; answers what is wrong, or null.</summary>
internal delegate string? ReadText<T>(string? text, out T value);

/// <summary>A value that stands in a JSON string in its own spelling.</summary>
internal sealed class TextJson<T>(ReadText<T> read, Func<T, string> write) : JsonConverter<T>
{
    public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        string? text = reader.TokenType == JsonTokenType.String ? reader.GetString() : System.Text.Encoding.UTF8.GetString(reader.ValueSpan);
        return read(text, out T value) is { } wrong ? throw new JsonException(wrong) : value;
    }

    public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) => writer.WriteStringValue(write(value));
}

/// <summary>A probability as a plain number from 0 to 1.</summary>
internal sealed class ProbabilityJson : JsonConverter<Probability>
{
    public override Probability Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        reader.TokenType == JsonTokenType.Number && reader.TryGetDouble(out double value) && value is >= 0 and <= 1
            ? new Probability(value)
            : throw new JsonException($"'{System.Text.Encoding.UTF8.GetString(reader.ValueSpan)}' is no probability; expected a number from 0 to 1");

    public override void Write(Utf8JsonWriter writer, Probability value, JsonSerializerOptions options) =>
        writer.WriteNumberValue(Math.Round(value.Value, 6));
}

/// <summary>Any enum in words, also as the name in a map.</summary>
internal sealed class WordsJson : JsonConverterFactory
{
    public override bool CanConvert(Type typeToConvert) => typeToConvert.IsEnum;

    public override JsonConverter CreateConverter(Type typeToConvert, JsonSerializerOptions options) =>
        (JsonConverter)Activator.CreateInstance(typeof(Of<>).MakeGenericType(typeToConvert))!;

    private sealed class Of<T> : JsonConverter<T>
        where T : struct, Enum
    {
        public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            Word(reader.TokenType == JsonTokenType.String ? reader.GetString() : System.Text.Encoding.UTF8.GetString(reader.ValueSpan));

        public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) => writer.WriteStringValue(Words.Of(value));

        public override T ReadAsPropertyName(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => Word(reader.GetString());

        public override void WriteAsPropertyName(Utf8JsonWriter writer, T value, JsonSerializerOptions options) => writer.WritePropertyName(Words.Of(value));

        private static T Word(string? text) => Words.TryRead(text, out T member) is { } wrong ? throw new JsonException(wrong) : member;
    }
}
