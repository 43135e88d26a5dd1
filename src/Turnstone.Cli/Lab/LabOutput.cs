using System.Text.Json;
using System.Text.Json.Serialization;
using Spectre.Console;
using Turnstone.Findings;
using Turnstone.Lab.Air;
using Turnstone.Lab.Documents;

namespace Turnstone.Cli.Lab;

/// <summary>What a verb prints: sentences and tables for people, or one JSON document.</summary>
internal sealed class LabOutput(TextWriter writer, bool json)
{
    private static readonly JsonSerializerOptions Options = new(LabJson.Options) { Converters = { new IsoClassText() } };

    /// <summary>Whether JSON was asked for.</summary>
    public bool AsJson { get; } = json;

    /// <summary>Prints the result in the asked form.</summary>
    /// <returns>The exit code: done, or something is wrong with what was checked.</returns>
    public int Show<T>(T result, Action<LabOutput> forPeople, bool wrong = false)
    {
        if (AsJson)
            writer.WriteLine(JsonSerializer.Serialize(result, Options));
        else
            forPeople(this);
        return wrong ? ExitCode.SomethingWrong : ExitCode.Done;
    }

    /// <summary>Prints a sentence.</summary>
    public void Say(string sentence) => writer.WriteLine(Clean(sentence));

    /// <summary>Prints a document in the form that the verbs read.</summary>
    public void Document<T>(T document) => writer.Write(LabDocument.Write(document));

    /// <summary>Prints sentences under a heading; nothing where there are none.</summary>
    public void List(string heading, IEnumerable<string> sentences)
    {
        string[] all = [.. sentences];
        if (all.Length == 0)
            return;
        writer.WriteLine();
        Say(heading);
        foreach (string sentence in all)
            Say("  " + sentence);
    }

    /// <summary>Prints a table; nothing where it has no rows.</summary>
    public void Table(string heading, IReadOnlyList<string> columns, IEnumerable<IReadOnlyList<string>> rows)
    {
        Table table = new Table().Border(TableBorder.Simple);
        table.ShowHeaders = true;
        foreach (string column in columns)
            table.AddColumn(new TableColumn(new Text(column)));
        foreach (IReadOnlyList<string> row in rows)
            table.AddRow(row.Select(cell => new Text(Clean(cell))));
        if (table.Rows.Count == 0)
            return;
        writer.WriteLine();
        Say(heading);
        IAnsiConsole console = AnsiConsole.Create(new AnsiConsoleSettings { Ansi = AnsiSupport.No, ColorSystem = ColorSystemSupport.NoColors, Out = new AnsiConsoleOutput(writer) });
        console.Profile.Width = Console.IsOutputRedirected ? 120 : Math.Max(80, Console.WindowWidth);
        console.Write(table);
    }

    // Names come from labels and files of strangers: nothing in them may steer the terminal.
    private static string Clean(string text) => VisibleText.Of(text);

    private sealed class IsoClassText : JsonConverter<IsoClass>
    {
        public override IsoClass Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            IsoClass.TryRead(reader.GetString(), out IsoClass isoClass) is { } wrong ? throw new JsonException(wrong) : isoClass;

        public override void Write(Utf8JsonWriter writer, IsoClass value, JsonSerializerOptions options) => writer.WriteStringValue(value.ToString());
    }
}
