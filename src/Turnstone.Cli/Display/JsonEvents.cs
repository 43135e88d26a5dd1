using System.Text.Json;
using Turnstone.Media;
using Turnstone.Reading;

namespace Turnstone.Cli.Display;

/// <summary>The events of a read as one JSON object a line. Described in docs/formats/read-events.md.</summary>
internal sealed class JsonEvents(TextWriter output)
{
    public void Tell(ReadEvent happened)
    {
        output.WriteLine(JsonSerializer.Serialize(Shape(happened), JsonText.Options));
        output.Flush();
    }

    private static object Shape(ReadEvent happened) => happened switch
    {
        ReadEvent.Began e => new
        {
            Event = "began", Source = e.Source.Address, e.Source.Kind, e.Source.Model, e.Source.Serial, e.Source.Notes,
            Sectors = e.Geometry.Capacity.Value, SectorBytes = e.Geometry.Logical.Bytes, PhysicalSectorBytes = e.Geometry.Physical.Bytes,
            Bytes = JsonText.Totals(e.Totals),
        },
        ReadEvent.StageBegan e => new { Event = "stage", Stage = Words.Of(e.Stage) },
        ReadEvent.Progress e => new
        {
            Event = "progress", Stage = Words.Of(e.Stage), At = Range(e.At), Bytes = JsonText.Totals(e.Totals), BytesPerSecond = Math.Round(e.BytesPerSecond),
            e.Refusals, ElapsedSeconds = e.Elapsed.TotalSeconds, SecondsLeft = e.Left?.TotalSeconds,
        },
        ReadEvent.Refusal e => new { Event = "refusal", Stage = Words.Of(e.Stage), At = Range(e.Range), Cause = JsonText.Cause(e.Cause), TookSeconds = e.Took.TotalSeconds },
        ReadEvent.Ended e => new
        {
            Event = "ended", Why = Words.Code(e.Why), Bytes = JsonText.Totals(e.Totals), ElapsedSeconds = e.Elapsed.TotalSeconds, e.BytesAsked, e.Refusals,
        },
        _ => throw new System.Diagnostics.UnreachableException(),
    };

    private static object Range(SectorRange range) => new { First = range.Start.Value, Count = range.Count.Value };
}
