using Spectre.Console;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Reading;
using Turnstone.Reading.Map;

namespace Turnstone.Cli.Display;

/// <summary>What a technician sees while a read goes on: what is safe, what is in trouble, what happens now, how long it may take.</summary>
/// <remarks>On a terminal the block is drawn anew in place; into a file or pipe it is a line now and then.</remarks>
internal sealed class ReadDisplay(IAnsiConsole console, ReadMap map)
{
    private const int LaneWidth = 72, BlockLines = 6;
    private static readonly TimeSpan BetweenLanes = TimeSpan.FromMilliseconds(400), BetweenLines = TimeSpan.FromSeconds(10);
    private readonly bool _redraws = console.Profile.Capabilities.Ansi && !Console.IsOutputRedirected;
    private long _laneDrawn, _lineWritten;
    private string _lane = "";
    private bool _isDrawn;
    private ReadEvent.Refusal? _lastRefusal;

    public void Tell(ReadEvent happened)
    {
        switch (happened)
        {
            case ReadEvent.Began e:
                Begin(e);
                break;
            case ReadEvent.Refusal e:
                _lastRefusal = e;
                break;
            case ReadEvent.Progress e when _redraws:
                Redraw(e);
                break;
            case ReadEvent.Progress e when IsDue(ref _lineWritten, BetweenLines):
                console.MarkupLine(Line(e));
                break;
            case ReadEvent.Ended e:
                End(e);
                break;
        }
    }

    private void Begin(ReadEvent.Began e)
    {
        _lineWritten = TimeProvider.System.GetTimestamp();
        string who = string.Join(", ", new[] { e.Source.Kind, e.Source.Model, e.Source.Serial }.Where(text => text is not null).Select(text => VisibleText.Of(text!)));
        console.MarkupLineInterpolated($"patient  [bold]{VisibleText.Of(e.Source.Address)}[/] ({who})");
        console.MarkupLineInterpolated($"         {Plain.Bytes(e.Totals.Whole)} in sectors of {e.Geometry.Logical.Bytes} bytes, {e.Geometry.Physical.Bytes} on the surface");
        foreach (string note in e.Source.Notes)
            console.MarkupLineInterpolated($"note     {VisibleText.Of(note)}");
        if (e.Totals.Unasked < e.Totals.Whole)
            console.MarkupLineInterpolated($"         going on with an earlier read: {Plain.Share(e.Totals.Held, e.Totals.Whole)} is held already");
    }

    private void Redraw(ReadEvent.Progress e)
    {
        // A lane of a million runs takes a moment to draw: seldom then.
        if (_lane.Length == 0 || IsDue(ref _laneDrawn, BetweenLanes * (1 + (map.RunCount / 10_000))))
            _lane = Lane.Draw(map, LaneWidth);
        string back = _isDrawn ? $"\u001b[{BlockLines}A" : "";
        _isDrawn = true;
        Console.Write(back);
        string[] lines =
        [
            $"┊{_lane}┊",
            Lane.Legend,
            $"held [bold]{Plain.Share(e.Totals.Held, e.Totals.Whole)}[/] ({Plain.Bytes(e.Totals.Held)})   in trouble {Plain.Bytes(e.Totals.PassedOver + e.Totals.Refused)}   not asked {Plain.Bytes(e.Totals.Unasked)}",
            $"now  {Doing(e)}",
            $"     {Plain.Bytes(e.BytesPerSecond)}/s   {Plain.Time(e.Elapsed)} gone   {Left(e)}",
            _lastRefusal is null ? "no refusals" : $"{e.Refusals} refusals; the last at sector {_lastRefusal.Range.Start}: {Words.Of(_lastRefusal.Cause)} after {Plain.Time(_lastRefusal.Took)}",
        ];
        foreach (string line in lines)
        {
            Console.Write("\u001b[2K");
            console.MarkupLine(line);
        }
    }

    private static string Line(ReadEvent.Progress e) =>
        $"{Plain.Time(e.Elapsed),12}  {Words.Of(e.Stage),-6}  held {Plain.Share(e.Totals.Held, e.Totals.Whole)}  in trouble {Plain.Bytes(e.Totals.PassedOver + e.Totals.Refused)}  {Plain.Bytes(e.BytesPerSecond)}/s  {Left(e)}";

    private static string Doing(ReadEvent.Progress e)
    {
        string what = e.Stage switch
        {
            Turnstone.Reading.Stages.StageName.Survey => "survey: partition tables and file systems first",
            Turnstone.Reading.Stages.StageName.Sweep => "sweep: large blocks where it goes well",
            Turnstone.Reading.Stages.StageName.Edges => "edges: closing in on trouble from both sides",
            Turnstone.Reading.Stages.StageName.Glean => "glean: single sectors",
            Turnstone.Reading.Stages.StageName.Appeal => "appeal: refused sectors once more",
        };
        return $"{what}, at sector {e.At.Start}";
    }

    private static string Left(ReadEvent.Progress e) => e.Left switch
    {
        _ when e.Stage == Turnstone.Reading.Stages.StageName.Appeal => "ends by itself, after 15 min at the latest",
        null => "no forecast yet",
        { TotalSeconds: < 2 } => "nearly through",
        { } left => $"about {Plain.Time(left)} left at this pace",
    };

    private void End(ReadEvent.Ended e)
    {
        if (_redraws)
            console.MarkupLine($"┊{Lane.Draw(map, LaneWidth)}┊");
        console.MarkupLineInterpolated($"[bold]{Words.Of(e.Why)}[/]");
        console.MarkupLineInterpolated($"held {Plain.Share(e.Totals.Held, e.Totals.Whole)} ({Plain.Bytes(e.Totals.Held)}), refused {Plain.Bytes(e.Totals.Refused)}, passed over {Plain.Bytes(e.Totals.PassedOver)}, not asked {Plain.Bytes(e.Totals.Unasked)}; {e.Refusals} refusals in {Plain.Time(e.Elapsed)}");
    }

    private static bool IsDue(ref long last, TimeSpan every)
    {
        if (last != 0 && TimeProvider.System.GetElapsedTime(last) < every)
            return false;
        last = TimeProvider.System.GetTimestamp();
        return true;
    }
}
