using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Recording;
using Turnstone.Reading.Stages;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading;

/// <summary>What is asked of one sitting.</summary>
public sealed record ReadOptions
{
    /// <summary>Time on the source's clock after which to stop; null for none.</summary>
    public TimeSpan? Budget { get; init; }

    /// <summary>The only stage to run; null for all.</summary>
    public StageName? Only { get; init; }

    /// <summary>How long one answer may take before the source counts as silent.</summary>
    public TimeSpan Patience { get; init; } = TimeSpan.FromSeconds(60);

    /// <summary>How long the appeal may take on the source's clock.</summary>
    public TimeSpan AppealBudget { get; init; } = TimeSpan.FromMinutes(15);
}

/// <summary>One sitting of a read: asks the source stage by stage, and leaves an image and a map that never claim too much.</summary>
/// <param name="source">Who is read; not closed here.</param>
/// <param name="folder">Where to; not closed here.</param>
/// <param name="guide">Who knows where the skeleton lies, or null.</param>
/// <param name="tell">Gets the events, on the calling thread.</param>
public sealed class PatientRead(IBlockSource source, ReadFolder folder, IReadGuide? guide, Action<ReadEvent> tell)
{
    // Late because a drive's own retries begin well below it: one late block is a sign to look elsewhere first.
    private static readonly TimeSpan Slow = TimeSpan.FromSeconds(1), BetweenReports = TimeSpan.FromMilliseconds(200);
    private const int SilencesMax = 3;

    private readonly Geometry _geometry = source.Geometry;
    private readonly Pace _pace = new(source.Geometry.LogicalPerPhysical * source.Geometry.Logical.Bytes);
    private readonly long _began = source.Clock.GetTimestamp();
    private long _bytes, _refusals, _reported;
    private int _silences;

    /// <summary>Runs until the end, until told to stop, or until the source can give no more. What is held then is durable.</summary>
    /// <exception cref="Media.Target.TargetFailure">The target can't be trusted any more; what the map calls held is safe.</exception>
    public ReadEnd Run(ReadOptions options, CancellationToken stop)
    {
        long sitting = folder.Database.BeginSitting(source.Clock.GetUtcNow());
        tell(new ReadEvent.Began(source.Identity, _geometry, Totals()));
        using var recorder = new Recorder(folder);
        ReadEnd end = RunStages(options, recorder, stop);
        recorder.Finish();
        folder.Database.EndSitting(sitting, source.Clock.GetUtcNow(), end.ToString(), Elapsed, _bytes, _refusals);
        tell(new ReadEvent.Ended(end, Totals(), Elapsed, _bytes, _refusals));
        return end;
    }

    private TimeSpan Elapsed => source.Clock.GetElapsedTime(_began);

    private ReadEnd RunStages(ReadOptions options, Recorder recorder, CancellationToken stop)
    {
        foreach (Stage stage in Stages().Where(s => options.Only is null || s.Name == options.Only))
        {
            TimeSpan? until = options.Budget;
            if (stage.Name == StageName.Appeal && (until is null || Elapsed + options.AppealBudget < until))
                until = Elapsed + options.AppealBudget;
            if (RunStage(stage, options.Patience, until, recorder, stop) is { } end)
            {
                bool appealIsOver = end == ReadEnd.BudgetSpent && until != options.Budget;
                return appealIsOver ? ReadEnd.Finished : end;
            }
        }

        return ReadEnd.Finished;
    }

    private Stage[] Stages() =>
    [
        new Survey(folder.Map, _geometry, guide, folder.View),
        new Sweep(folder.Map, _geometry),
        new Edges(folder.Map, _geometry),
        new Glean(folder.Map, _geometry),
        new Appeal(folder.Map, _geometry),
    ];

    // Null when the stage came to its own end.
    private ReadEnd? RunStage(Stage stage, TimeSpan patience, TimeSpan? until, Recorder recorder, CancellationToken stop)
    {
        tell(new ReadEvent.StageBegan(stage.Name));
        stage.Settle = recorder.Settle;
        foreach (SectorRange range in stage.Ranges())
        {
            if (stop.IsCancellationRequested)
                return ReadEnd.Stopped;
            if (until is { } limit && Elapsed >= limit)
                return ReadEnd.BudgetSpent;
            Report(stage.Name, range);
            if (Ask(stage, range, patience, recorder) is { } end)
                return end;
        }

        recorder.Settle();
        return null;
    }

    private ReadEnd? Ask(Stage stage, SectorRange range, TimeSpan patience, Recorder recorder)
    {
        SectorBuffer buffer = recorder.Rent();
        ReadOutcome outcome = source.Read(range, buffer.Memory, patience);
        if (IsOnItsOwn(range) || outcome is not ReadOutcome.Bytes)
            _pace.NoteQuestion(outcome.Took);
        return outcome.Match(
            bytes => TakeBytes(stage, bytes, buffer, recorder),
            refused =>
            {
                recorder.Return(buffer);
                return TakeRefusal(stage, refused, recorder);
            },
            silent =>
            {
                if (silent.NotSent)
                    recorder.Return(buffer);
                else
                    recorder.Forget();
                return TakeSilence(stage, silent, recorder);
            });
    }

    private ReadEnd? TakeBytes(Stage stage, ReadOutcome.Bytes bytes, SectorBuffer buffer, Recorder recorder)
    {
        recorder.Held(bytes.Asked, buffer);
        _bytes += bytes.Data.Length;
        _silences = 0;
        stage.Last = new Answer(bytes.Asked, Cause: null, FirstBad: null, IsSlow: bytes.Took > Slow);
        return null;
    }

    private ReadEnd? TakeRefusal(Stage stage, ReadOutcome.Refused refused, Recorder recorder)
    {
        _refusals++;
        _silences = 0;
        tell(new ReadEvent.Refusal(stage.Name, refused.Asked, refused.Cause, refused.Took));
        if (refused.Cause == RefusalCause.Gone)
            return ReadEnd.SourceGone;
        if (refused.Cause == RefusalCause.PastEnd)
            return ReadEnd.SourceShrank;
        stage.Last = new Answer(refused.Asked, refused.Cause, refused.FirstBad, IsSlow: false);
        Mark(refused, refused.Cause, recorder);
        return null;
    }

    private ReadEnd? TakeSilence(Stage stage, ReadOutcome.Silent silent, Recorder recorder)
    {
        _refusals++;
        tell(new ReadEvent.Refusal(stage.Name, silent.Asked, RefusalCause.Silence, silent.Took));
        stage.Last = new Answer(silent.Asked, RefusalCause.Silence, FirstBad: null, IsSlow: false);
        if (!silent.NotSent)
            Mark(silent, RefusalCause.Silence, recorder);
        return ++_silences < SilencesMax ? null : ReadEnd.SourceSilent;
    }

    // What was asked on its own is refused; a larger range is only passed over, any sector in it may be good.
    private void Mark(ReadOutcome outcome, RefusalCause cause, Recorder recorder)
    {
        SectorRange asked = outcome.Asked;
        int asks = folder.Map[asked.Start].Asks + 1;
        recorder.Mark(asked, IsOnItsOwn(asked) ? MapMark.Refused(cause, asks) : MapMark.PassedOver(cause), outcome.Took);
    }

    private bool IsOnItsOwn(SectorRange range) => range.Count.Value <= _geometry.LogicalPerPhysical;

    private void Report(StageName stage, SectorRange range)
    {
        if (_reported != 0 && TimeProvider.System.GetElapsedTime(_reported) < BetweenReports)
            return;
        _reported = TimeProvider.System.GetTimestamp();
        TimeSpan elapsed = Elapsed;
        _pace.Note(elapsed, _bytes);
        MapTotals totals = Totals();
        tell(new ReadEvent.Progress(stage, range, totals, _pace.BytesPerSecond, _refusals, elapsed, _pace.Left(totals)));
    }

    private MapTotals Totals() => MapTotals.Of(folder.Map, _geometry.Logical);
}
