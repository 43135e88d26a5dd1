using Turnstone.Media;
using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;
using Turnstone.Patients.Timing;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Drives;

/// <summary>A drive that exists only in arithmetic: what it answers to a read, and how long that takes.</summary>
/// <remarks>
/// A command costs its overhead, then walks its sectors track by track: get there, read, and at each troubled sector try
/// until it answers or the drive gives up. A refusal ends the command at that sector. A head's work is counted track by
/// track; where it dies, that track is lost. The host gives up at its limit: the next command pays for the reset. A
/// hang is silence until a reset or until the power is cut. What must hold whatever comes together: virtual time never runs
/// backwards, a dead head gives no sector, and a hard sector is never given.
/// </remarks>
internal sealed class Drive
{
    private readonly DriveSpec _spec;
    private readonly TimingSpec _timing;
    private readonly VirtualClock _clock;
    private readonly Arm _arm;
    private readonly Walk _walk;
    private readonly Chance _command, _pause;
    private readonly int _perPhysical;
    private readonly long _buffer;
    private double _nextRecalibration = double.PositiveInfinity;
    private long _poweredAt, _lastFirst = -1, _heldFirst = -1, _heldEnd = -1;
    private HangCure? _hang;
    private bool _resetOwed;

    public Drive(Scenario scenario, VirtualClock clock)
    {
        (_spec, _timing, _clock) = (scenario.Drive, scenario.Timing, clock);
        ulong seed = scenario.Seed;
        Layout = LayoutBuilder.Build(_spec, seed);
        Map = _spec.Shingled is { } shingled ? Translation.Draw(shingled, Layout.Capacity, _spec.PhysicalSectorBytes, seed) : null;
        _perPhysical = _spec.LogicalPerPhysical;
        _buffer = (long)(_timing.ReadAheadKibibytes * 1024 / _spec.PhysicalSectorBytes);
        Field = new DamageField(scenario.Damage, Layout, _perPhysical, seed);
        Condition = new Condition(scenario.Wear, scenario.Damage, Layout.Surfaces, seed);
        (_command, _pause) = (Chance.For(seed, "command"), Chance.For(seed, "pause"));
        _arm = new Arm(Layout, _timing, _spec.PhysicalSectorBytes, Chance.For(seed, "arm")) { HeadSkew = _spec.HeadSkew };
        var recovery = new Recovery(scenario.Damage, _timing, Chance.For(seed, "recovery"));
        _walk = new Walk(Layout, Field, Condition, _timing, _arm, recovery, Chance.For(seed, "refusal"));
        PlanRecalibration();
    }

    public Layout Layout { get; }

    /// <summary>The drive's own map; null where addresses lie as they count.</summary>
    public Translation? Map { get; }

    public DamageField Field { get; }

    public Condition Condition { get; }

    /// <summary>Logical sectors.</summary>
    public long Capacity
    {
        get
        {
            long held = (Map?.Capacity ?? Layout.Capacity) * _perPhysical;
            return Math.Min(held, _spec.CapacitySectors ?? held);
        }
    }

    /// <summary>Asks for logical sectors and spends the time of the answer on the clock.</summary>
    /// <param name="first">First logical sector.</param>
    /// <param name="count">How many; at least one.</param>
    /// <param name="limit">Longest wait in nanoseconds; long.MaxValue for the host's own.</param>
    public Answer Ask(long first, long count, long limit)
    {
        bool answers = _hang is null && !Condition.DriveDead;
        Answer answer = answers ? Serve(first, count) : Silence;
        if (answer.Kind == AnswerKind.Silent || answer.Nanoseconds > limit)
            answer = GiveUp(limit);
        _lastFirst = first;
        Spend(answer.Nanoseconds);
        return answer;
    }

    /// <summary>Cuts the power, applies it again and waits until the drive is ready. Ends any hang; brings no head back.</summary>
    public void CyclePower()
    {
        Condition.SpinUp();
        (_hang, _resetOwed, _poweredAt) = (null, false, _clock.Nanoseconds);
        Forget();
        Spend((long)(_timing.SpinUpSeconds * 1e9));
    }

    private static Answer Silence => new(AnswerKind.Silent, long.MaxValue);

    private void Spend(long nanoseconds)
    {
        _clock.SpendNanoseconds(nanoseconds);
        Condition.Powered(nanoseconds / 1e9);
    }

    private Answer GiveUp(long limit)
    {
        _resetOwed = true;
        // The reset itself is paid by the next command; a hang that it ends is over by then.
        if (_hang == HangCure.Reset)
            _hang = null;
        Forget();
        return new Answer(AnswerKind.Silent, limit == long.MaxValue ? (long)(_timing.HostLimitSeconds * 1e9) : limit);
    }

    private Answer Serve(long first, long count)
    {
        double host = _clock.Nanoseconds + Overhead();
        double delivered = host + (count * _spec.LogicalSectorBytes * 1e3 / _timing.InterfaceMegabytesPerSecond);
        long from = first / _perPhysical, end = (first + count + _perPhysical - 1) / _perPhysical;
        if (_heldFirst <= from && end <= _heldEnd)
            return Given(AnswerKind.Bytes, delivered);
        _walk.PoweredSeconds = (_clock.Nanoseconds - _poweredAt) / 1e9;
        (Stop stop, bool unmapped) = Read(from, end, host, first < _lastFirst);
        if (stop.Hang is { } hang)
        {
            _hang = hang;
            return Silence;
        }

        if (!stop.IsNone)
            return Refused(stop, Math.Max(first, stop.Sector * _perPhysical), host);
        Hold(from, end);
        return Given(unmapped ? AnswerKind.Unmapped : AnswerKind.Bytes, unmapped ? delivered : Math.Max(delivered, _arm.Now));
    }

    private Answer Given(AnswerKind kind, double end) => new(kind, Since(end));

    private Answer Refused(Stop stop, long logical, double host)
    {
        Forget();
        Lba? bad = stop.Cause == RefusalCause.Aborted ? null : new Lba(logical);
        return new Answer(AnswerKind.Refused, Since(Math.Max(host, _arm.Now)), stop.Cause, bad);
    }

    private long Since(double end) => Math.Max(0, (long)Math.Round(end - _clock.Nanoseconds));

    /// <summary>Reads addresses in physical sectors, through the drive's own map where it has one; a stop is told as an address.</summary>
    private (Stop Stop, bool Unmapped) Read(long from, long end, double host, bool backwards)
    {
        if (Map is null)
            return (_walk.Read(from, end, host, backwards), false);
        bool unmapped = true;
        for (int i = Map.RunAt(from); from < end; i++)
        {
            MappedRun run = Map.Runs[i];
            long to = Math.Min(end, run.End), media = run.Media + from - run.First;
            if (!run.IsUnmapped)
            {
                unmapped = false;
                Stop stop = _walk.Read(media, media + to - from, host, backwards);
                if (!stop.IsNone)
                    return (stop with { Sector = from + stop.Sector - media }, false);
            }

            from = to;
        }

        return (Stop.None, unmapped);
    }

    private double Overhead()
    {
        double milliseconds = Math.Max(0, _timing.CommandMilliseconds + (_timing.CommandNoiseMilliseconds * _command.Normal()));
        if (_resetOwed)
        {
            _resetOwed = false;
            Condition.Reset();
            milliseconds += _timing.ResetSeconds * 1e3;
        }

        if (_clock.Nanoseconds >= _nextRecalibration)
        {
            // 100 to 800 ms, from memory.
            milliseconds += _pause.Between(100, 800);
            Forget();
            PlanRecalibration();
        }

        return milliseconds * 1e6;
    }

    private void PlanRecalibration()
    {
        if (_timing.RecalibrationEverySeconds is { } every)
            _nextRecalibration = _clock.Nanoseconds + (every * 1e9 * _pause.Between(0.5, 1.5));
    }

    /// <summary>Keeps what was read in the drive's buffer, as much as fits.</summary>
    private void Hold(long from, long end)
    {
        if (from != _heldEnd)
            _heldFirst = from;
        _heldEnd = end;
        _heldFirst = Math.Max(_heldFirst, end - _buffer);
    }

    private void Forget()
    {
        _arm.Lose();
        (_heldFirst, _heldEnd) = (-1, -1);
    }
}
