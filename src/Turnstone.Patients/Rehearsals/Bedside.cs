using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals;

/// <summary>A way of reading a patient, as a rehearsal runs it.</summary>
/// <remarks>A strategy may know what a reader of a real drive could know: the geometry, its own asks and their answers.</remarks>
public interface IStrategy
{
    /// <summary>Short name, as typed on a command line.</summary>
    string Name { get; }

    /// <summary>What it does, in one sentence.</summary>
    string Description { get; }

    /// <summary>Reads until there is nothing left that it would ask, or <see cref="Bedside.IsOver"/>.</summary>
    void Run(Bedside bed);
}

/// <summary>A patient under rehearsal: asks go to the drive, and what comes back is counted and dated.</summary>
/// <remarks>A physical sector counts when one ask covers it wholly: ask whole ones.</remarks>
public sealed class Bedside
{
    private readonly Score _score;
    private readonly WorthMap _worth;
    private readonly Curve _curve = new();
    private readonly long _budget;

    internal Bedside(Patient patient, WorthMap worth, TimeSpan budget)
    {
        (Patient, _worth, _score) = (patient, worth, new Score(worth));
        _budget = budget.Ticks * TimeSpan.NanosecondsPerTick;
    }

    /// <summary>Sizes of the drive.</summary>
    public Geometry Geometry => Patient.Geometry;

    /// <summary>The virtual time.</summary>
    public TimeProvider Clock => Patient.Clock;

    /// <summary>Virtual time since the start.</summary>
    public TimeSpan Elapsed => Patient.VirtualClock.Elapsed;

    /// <summary>Whether the time is used up; further asks are answered by silence at once.</summary>
    public bool IsOver => Patient.VirtualClock.Nanoseconds >= _budget;

    /// <summary>Asks so far.</summary>
    public long Asks { get; private set; }

    /// <summary>Refusals so far.</summary>
    public long Refusals { get; private set; }

    /// <summary>Silences so far.</summary>
    public long Silences { get; private set; }

    /// <summary>Times that the power was cut and applied again.</summary>
    public int PowerCycles { get; private set; }

    internal Patient Patient { get; }

    internal WorthMap Worth => _worth;

    /// <summary>Asks for one range.</summary>
    /// <exception cref="ArgumentException">The range is empty or outside the capacity.</exception>
    public Answer Ask(SectorRange range, TimeSpan limit)
    {
        if (IsOver)
            return new Answer(AnswerKind.Silent, 0);
        Answer answer = Patient.Ask(range, limit);
        Asks++;
        switch (answer.Kind)
        {
            case AnswerKind.Refused:
                Refusals++;
                break;
            case AnswerKind.Silent:
                Silences++;
                break;
            case AnswerKind.Bytes:
            case AnswerKind.Unmapped:
                Credit(range);
                break;
        }

        return answer;
    }

    /// <summary>Cuts the power and spins up again.</summary>
    public void CyclePower()
    {
        if (IsOver)
            return;
        Patient.CyclePower();
        PowerCycles++;
    }

    internal RehearsalResult Result(IStrategy strategy)
    {
        _curve.Finish(Now());
        int dead = Enumerable.Range(0, Patient.Truth.Layout.Surfaces).Count(Patient.Truth.IsDead);
        return new RehearsalResult(strategy.Name, _curve.Points, Asks, Refusals, Silences, PowerCycles, dead, Patient.Truth.IsDriveDead);
    }

    private void Credit(SectorRange range)
    {
        // What came after the end of the time is not counted.
        if (Patient.VirtualClock.Nanoseconds > _budget)
            return;
        long per = _worth.PerPhysical;
        _score.Add((range.Start.Value + per - 1) / per, range.End.Value / per);
        if (_curve.Wants(Patient.VirtualClock.Nanoseconds))
            _curve.Add(Now());
    }

    private CurvePoint Now() => new(Math.Min(Patient.VirtualClock.Nanoseconds, _budget), _score.Bytes, _score.WishedBytes, _score.WholeFileBytes, Patient.Truth.Wear);
}
