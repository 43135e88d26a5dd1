using Turnstone.Media;
using Turnstone.Patients.Contents;
using Turnstone.Patients.Drives;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients;

/// <summary>A simulated patient: a failing drive on virtual time, read like any other source.</summary>
/// <remarks>
/// Same scenario, same reads: same answers, to the nanosecond of <see cref="Clock"/> and to the byte. No wall clock is looked at.
/// Each reported time is the virtual time that the read took, in ticks of 100 ns. Nothing can be written.
/// </remarks>
public sealed class Patient : IBlockSource
{
    private readonly VirtualClock _clock = new();
    private readonly Drive _drive;
    private readonly Content _content;
    private readonly Scenario _scenario;
    private ulong _reads;

    /// <summary>Makes the drive of a scenario, spun up and ready, at the start of its time.</summary>
    /// <param name="scenario">The drive; one that contradicts itself gives undefined answers, so take it from a scenario file, a preset or a family.</param>
    /// <param name="address">How it was opened, for its identity.</param>
    /// <exception cref="IOException">The content's image cannot be opened.</exception>
    public Patient(Scenario scenario, string address = "patient")
    {
        _scenario = scenario;
        _drive = new Drive(scenario, _clock);
        _content = new Content(scenario.Content, scenario.Seed);
        Geometry = new Geometry(new SectorSize(scenario.Drive.LogicalSectorBytes), new SectorSize(scenario.Drive.PhysicalSectorBytes), new SectorCount(_drive.Capacity));
        Identity = new SourceIdentity(address, "simulated patient", scenario.Name, $"SIM-{scenario.Seed}");
        Truth = new Truth(_drive, Geometry);
    }

    /// <inheritdoc/>
    public SourceIdentity Identity { get; }

    /// <inheritdoc/>
    public Geometry Geometry { get; }

    /// <inheritdoc/>
    public TimeProvider Clock => _clock;

    /// <summary>The patient's virtual time.</summary>
    public VirtualClock VirtualClock => _clock;

    /// <summary>What no reader of a real drive could know: for scoring, never for a plan.</summary>
    public Truth Truth { get; }

    internal Drive Drive => _drive;

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        int length = checked((int)range.Bytes(Geometry.Logical).Length);
        if (into.Length < length)
            throw new ArgumentException($"{into.Length} bytes do not hold {range.Count} sectors of {Geometry.Logical}", nameof(into));
        Answer answer = Ask(range, limit);
        switch (answer.Kind)
        {
            case AnswerKind.Refused:
                return new ReadOutcome.Refused(answer.Cause, answer.FirstBad) { Asked = range, Took = answer.Took };
            case AnswerKind.Silent:
                return new ReadOutcome.Silent { Asked = range, Took = answer.Took };
            case AnswerKind.Bytes:
            case AnswerKind.Unmapped:
            default:
                Fill(range, into.Span[..length]);
                return new ReadOutcome.Bytes(into[..length]) { Asked = range, Took = answer.Took };
        }
    }

    /// <summary>Asks without moving a byte: the same outcome and the same time as <see cref="Read"/>.</summary>
    /// <exception cref="ArgumentException">The range is empty or outside the capacity, or the limit is negative.</exception>
    public Answer Ask(SectorRange range, TimeSpan limit)
    {
        if (range.IsEmpty || range.End.Value > Geometry.Capacity.Value)
            throw new ArgumentException($"{range} is empty or past the end at {Geometry.Capacity}", nameof(range));
        if (limit < TimeSpan.Zero && limit != Timeout.InfiniteTimeSpan)
            throw new ArgumentException($"a limit of {limit}", nameof(limit));
        _reads++;
        long nanoseconds = limit == Timeout.InfiniteTimeSpan || limit.Ticks > long.MaxValue / TimeSpan.NanosecondsPerTick
            ? long.MaxValue
            : limit.Ticks * TimeSpan.NanosecondsPerTick;
        return _drive.Ask(range.Start.Value, range.Count.Value, nanoseconds);
    }

    /// <summary>Cuts the power and spins up again, which ends any hang and wears the drive.</summary>
    public void CyclePower() => _drive.CyclePower();

    /// <inheritdoc/>
    public void Dispose() => _content.Dispose();

    private void Fill(SectorRange range, Span<byte> into)
    {
        int size = Geometry.Logical.Bytes;
        _content.Fill(range.Start.ByteOffset(Geometry.Logical), into);
        foreach (SectorRange unmapped in Truth.Unmapped(range))
            into.Slice((int)((unmapped.Start.Value - range.Start.Value) * size), (int)(unmapped.Count.Value * size)).Clear();
        foreach ((SectorRange wrong, bool changes) in Truth.Wrong(range))
        {
            Span<byte> part = into.Slice((int)((wrong.Start.Value - range.Start.Value) * size), (int)(wrong.Count.Value * size));
            Content.Generate(_scenario.Seed ^ (changes ? _reads : 0), wrong.Start.ByteOffset(Geometry.Logical), part);
        }
    }
}
