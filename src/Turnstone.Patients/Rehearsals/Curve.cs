namespace Turnstone.Patients.Rehearsals;

/// <summary>What was held when, kept in a bounded number of points: where they grow too many, every other one goes.</summary>
internal sealed class Curve
{
    private const int Most = 4096;
    private readonly List<CurvePoint> _points = [default];
    private long _step = 1_000_000_000, _next;

    /// <summary>The points in order of time, the first at the start.</summary>
    public IReadOnlyList<CurvePoint> Points => _points;

    /// <summary>Whether the time has come for a point.</summary>
    public bool Wants(long nanoseconds) => nanoseconds >= _next;

    public void Add(CurvePoint point)
    {
        _points.Add(point);
        if (_points.Count > Most)
        {
            // From the second one on, so that the start stays.
            for (int i = 1; i < _points.Count; i++)
                _points.RemoveAt(i);
            _step *= 2;
        }

        _next = point.Nanoseconds + _step;
    }

    public void Finish(CurvePoint last) => _points.Add(last);
}
