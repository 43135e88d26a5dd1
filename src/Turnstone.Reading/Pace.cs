namespace Turnstone.Reading;

/// <summary>Rate over the last seconds of a clock, whichever clock it is.</summary>
internal sealed class Pace
{
    private static readonly TimeSpan Window = TimeSpan.FromSeconds(10);
    private readonly Queue<(TimeSpan When, long Bytes)> _points = new();
    private (TimeSpan When, long Bytes) _last;

    /// <summary>Notes how many bytes there are by now.</summary>
    public void Note(TimeSpan elapsed, long bytes)
    {
        _last = (elapsed, bytes);
        _points.Enqueue(_last);
        while (_points.Count > 2 && elapsed - _points.Peek().When > Window)
            _points.Dequeue();
    }

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
}
