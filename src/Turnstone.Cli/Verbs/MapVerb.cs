using System.CommandLine;
using System.Text.Json;
using Spectre.Console;
using Turnstone.Cli.Display;
using Turnstone.Media;
using Turnstone.Reading;
using Turnstone.Reading.Map;
using Turnstone.Reading.Storage;

namespace Turnstone.Cli.Verbs;

/// <summary>turnstone map</summary>
internal static class MapVerb
{
    private const int RangesShown = 40, LaneWidth = 72;

    public static Command Make()
    {
        var folder = new Argument<string>("DIR") { Description = "folder of a read" };
        var json = new Option<bool>("--json") { Description = "all ranges as JSON" };
        var verb = new Command("map", """
            Show what of a patient is held, passed over, refused or not asked.

            Example: turnstone map /cases/0042/read
            """) { folder, json };
        verb.SetAction(parsed =>
        {
            using ReadFolder read = ReadFolder.Look(parsed.GetValue(folder)!);
            if (parsed.GetValue(json))
                WriteJson(read);
            else
                WriteTable(read);
            return ExitCode.Done;
        });
        return verb;
    }

    private static void WriteTable(ReadFolder read)
    {
        SectorSize sector = read.Record.Geometry.Logical;
        MapTotals totals = MapTotals.Of(read.Map, sector);
        AnsiConsole.MarkupLine($"┊{Lane.Draw(read.Map, LaneWidth)}┊");
        AnsiConsole.MarkupLine(Lane.Legend);
        var table = new Table { Border = TableBorder.Simple };
        table.AddColumns("state", "sectors", "bytes", "share");
        foreach (SectorState state in Enum.GetValues<SectorState>())
        {
            SectorCount count = read.Map.Total(state);
            table.AddRow(Words.Of(state), count.ToString(), Plain.Bytes(count.Bytes(sector)), Plain.Share(count.Value, read.Map.Whole.Count.Value));
        }

        AnsiConsole.Write(table);
        WriteTrouble(read, totals);
    }

    private static void WriteTrouble(ReadFolder read, MapTotals totals)
    {
        if (totals.Held == totals.Whole)
        {
            Console.WriteLine("Every sector is held.");
            return;
        }

        int shown = 0;
        foreach (MapRun run in read.Map.Runs().Where(run => run.Mark.State != SectorState.Held))
        {
            if (shown++ == RangesShown)
            {
                Console.WriteLine($"  ... and more: 'turnstone map {read.Path} --json' lists all");
                return;
            }

            string cause = run.Mark.Cause is { } why ? $": {Words.Of(why)}" : "";
            Console.WriteLine($"  sectors {run.Range.Start} to {run.Range.End.Value - 1} ({Plain.Bytes(run.Range.Count.Bytes(read.Record.Geometry.Logical))}) {Words.Of(run.Mark.State)}{cause}");
        }
    }

    private static void WriteJson(ReadFolder read)
    {
        using var output = new BufferedStream(Console.OpenStandardOutput(), 1 << 16);
        using var writer = new Utf8JsonWriter(output);
        SectorSize sector = read.Record.Geometry.Logical;
        writer.WriteStartObject();
        writer.WriteString("source", read.Record.Source.Address);
        writer.WriteNumber("sectors", read.Map.Whole.Count.Value);
        writer.WriteNumber("sectorBytes", sector.Bytes);
        writer.WritePropertyName("bytes");
        JsonSerializer.Serialize(writer, JsonText.Totals(MapTotals.Of(read.Map, sector)), JsonText.Options);
        writer.WriteStartArray("ranges");
        foreach (MapRun run in read.Map.Runs())
            WriteRange(writer, run);
        writer.WriteEndArray();
        writer.WriteEndObject();
        writer.Flush();
        output.WriteByte((byte)'\n');
    }

    private static void WriteRange(Utf8JsonWriter writer, MapRun run)
    {
        writer.WriteStartObject();
        writer.WriteNumber("first", run.Range.Start.Value);
        writer.WriteNumber("count", run.Range.Count.Value);
        writer.WriteString("state", Words.Of(run.Mark.State));
        if (run.Mark.Cause is { } cause)
            writer.WriteString("cause", JsonText.Cause(cause));
        if (run.Mark.Asks > 0)
            writer.WriteNumber("asks", run.Mark.Asks);
        writer.WriteEndObject();
    }
}
