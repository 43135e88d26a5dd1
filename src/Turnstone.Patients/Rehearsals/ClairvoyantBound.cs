using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Rehearsals;

/// <summary>What a reader could hold at most who knows every sector's fate and every head's remaining work.</summary>
/// <remarks>
/// Relaxed so that no plan can beat it: no positioning, nothing spent on refused sectors, work split at any sector,
/// every sector that could answer in some way answers at once. Per head, good sectors are taken by value per second until
/// the head's work is spent; all heads are merged by the same measure, one head at a time. A whole file's value is
/// credited sector by sector, for files all of whose sectors can be had.
/// <para>One sector's time is its share of a turn and of the least change of track. To hold k sectors a reader has to visit at
/// least k / (sectors per track) tracks, and each visit but the first costs at least a track skew, a head skew, a
/// one-track seek or a head switch, whichever is shortest; so this counts nothing that could be avoided, save one change
/// per head and one for the start, which are given back as time.</para>
/// </remarks>
public sealed class ClairvoyantBound
{
    private readonly Steps[] _byKind;
    private readonly double _given;

    internal ClairvoyantBound(Patient patient, WorthMap worth, Scenario scenario)
    {
        var tally = new GoodSectors(patient, worth);
        TimingSpec timing = scenario.Timing;
        double change = LeastChange(scenario.Drive, timing);
        _given = change * (patient.Truth.Layout.Surfaces + 1);
        double[] work = [.. patient.Drive.Condition.Heads.Select(h => h.MostSeconds + change)];
        double powered = patient.Drive.Condition.MostSeconds;
        _byKind = [.. Enum.GetValues<ValueKind>().Select(kind => new Steps(tally.Of(kind, timing.TurnSeconds + change), work, powered))];
    }

    /// <summary>Most value that can be held at a time.</summary>
    public double At(ValueKind kind, TimeSpan time) => _byKind[(int)kind].At(time.TotalSeconds + _given);

    /// <summary>Most value that can ever be held.</summary>
    public double Most(ValueKind kind) => _byKind[(int)kind].At(double.PositiveInfinity);

    /// <summary>When the bound has reached a share of its most.</summary>
    /// <param name="kind">Which value.</param>
    /// <param name="share">From 0 to 1.</param>
    public TimeSpan TimeTo(ValueKind kind, double share) => TimeSpan.FromSeconds(_byKind[(int)kind].TimeTo(share * Most(kind)));

    /// <summary>Value times seconds under the bound up to the horizon.</summary>
    public double Area(ValueKind kind, TimeSpan horizon) => _byKind[(int)kind].Area(horizon.TotalSeconds);

    // A drive without skew can go on without a break, and then there is nothing that could not be avoided.
    private static double LeastChange(DriveSpec drive, TimingSpec timing)
    {
        double skew = Math.Min(drive.TrackSkew, drive.HeadSkew) * timing.TurnSeconds;
        return Math.Min(skew, Math.Min(timing.SeekTrackMilliseconds, timing.HeadSwitchMilliseconds) / 1000);
    }

    /// <summary>A concave curve made of straight pieces.</summary>
    private sealed class Steps
    {
        private readonly List<(double Time, double Value)> _corners = [(0, 0)];

        public Steps(IEnumerable<(int Head, double Value, double Seconds)> groups, double[] work, double powered)
        {
            double[] left = [.. work];
            double time = 0, value = 0;
            foreach ((int head, double worth, double seconds) in groups.OrderByDescending(g => g.Value / g.Seconds))
            {
                double spent = Math.Min(seconds, Math.Min(left[head], powered - time));
                if (spent <= 0)
                    continue;
                left[head] -= spent;
                time += spent;
                value += worth * spent / seconds;
                _corners.Add((time, value));
            }
        }

        public double At(double time)
        {
            int next = _corners.FindIndex(c => c.Time > time);
            if (next < 0)
                return _corners[^1].Value;
            ((double t0, double v0), (double t1, double v1)) = (_corners[next - 1], _corners[next]);
            return v0 + ((v1 - v0) * (time - t0) / (t1 - t0));
        }

        public double TimeTo(double value)
        {
            int next = _corners.FindIndex(c => c.Value >= value);
            if (next <= 0)
                return next < 0 ? _corners[^1].Time : 0;
            ((double t0, double v0), (double t1, double v1)) = (_corners[next - 1], _corners[next]);
            return t0 + ((t1 - t0) * (value - v0) / (v1 - v0));
        }

        public double Area(double end)
        {
            double area = 0;
            for (int i = 1; i < _corners.Count && _corners[i - 1].Time < end; i++)
            {
                double to = Math.Min(end, _corners[i].Time);
                area += (to - _corners[i - 1].Time) * (_corners[i - 1].Value + At(to)) / 2;
            }

            return area + (Math.Max(0, end - _corners[^1].Time) * _corners[^1].Value);
        }
    }
}
