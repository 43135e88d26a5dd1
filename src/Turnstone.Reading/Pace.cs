using Turnstone.Media;

namespace Turnstone.Reading;

/// <summary>How fast it goes, on whichever clock, and what is left if it goes on like this.</summary>
/// <remarks>Open ground is reckoned by its rate over the last seconds, trouble by what a question for a single sector costs.</remarks>
internal sealed class Pace(int sectorBytes)
{
    private static readonly TimeSpan Window = TimeSpan.FromSeconds(10);
    // Weight of the newest question: about the last fifty count.
    private const double Newest = 0.04;
    private readonly Queue<(TimeSpan When, long Bytes)> _points = new();
    private (TimeSpan When, long Bytes) _last;
    private double? _secondsAQuestion;

    /// <summary>Notes how many bytes there are by now.</summary>
    public void Note(TimeSpan elapsed, long bytes)
    {
        _last = (elapsed, bytes);
        _points.Enqueue(_last);
        while (_points.Count > 2 && elapsed - _points.Peek().When > Window)
            _points.Dequeue();
    }

    /// <summary>Notes what a question for a single sector, or one that was refused, cost.</summary>
    public void NoteQuestion(TimeSpan took) =>
        _secondsAQuestion = _secondsAQuestion is { } before ? before + (Newest * (took.TotalSeconds - before)) : took.TotalSeconds;

    /// <summary>Bytes per second; 0 while there is nothing to tell from.</summary>
    public double BytesPerSecond
    {
        get
        {
            if (_points.Count < 2)
                return 0;
            (TimeSpan when, long bytes) = _points.Peek();
            double seconds = (_last.When - when).TotalSeconds;
            return seconds <= 0 ? 0 : (_last.Bytes - bytes) / seconds;
        }
    }

    /// <summary>Time for what is left, or null while nobody can tell. The appeal is not in it: it has a budget of its own.</summary>
    public TimeSpan? Left(MapTotals totals)
    {
        double open = totals.Unasked == 0 ? 0 : totals.Unasked / BytesPerSecond;
        double trouble = (double)totals.PassedOver / sectorBytes * (_secondsAQuestion ?? 0);
        double seconds = open + trouble;
        return double.IsFinite(seconds) && seconds < TimeSpan.MaxValue.TotalSeconds / 2 ? TimeSpan.FromSeconds(seconds) : null;
    }
}
