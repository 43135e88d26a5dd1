using Turnstone.Media;
using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Drives;

/// <summary>Where and why a walk over the sectors ended early.</summary>
/// <param name="Sector">The physical sector that it ended at; -1 when it did not.</param>
/// <param name="Cause">What the drive says.</param>
/// <param name="Hang">What ends the hang, when the drive hangs there instead of saying anything.</param>
internal readonly record struct Stop(long Sector, RefusalCause Cause, HangCure? Hang = null)
{
    public static Stop None => new(-1, RefusalCause.Unspecified);

    public bool IsNone => Sector < 0;
}

/// <summary>Reads physical sectors in order, track by track: the arm, the damage under it, and the heads' wear.</summary>
internal sealed class Walk(Layout layout, DamageField field, Condition condition, TimingSpec timing, Arm arm, Recovery recovery, Chance chance)
{
    private readonly List<Trouble> _troubles = [];
    private int _segment;

    /// <summary>Seconds since power came on, for the drive's warmth.</summary>
    public double PoweredSeconds { get; set; }

    /// <summary>Reads [first, end) and answers where it had to stop.</summary>
    public Stop Read(long first, long end, double host, bool backwards)
    {
        arm.Start(first, host);
        for (long at = first; at < end;)
        {
            ref readonly Segment segment = ref SegmentAt(at);
            (long turn, long sector) = Math.DivRem(at - segment.First, segment.SectorsPerTrack);
            int count = (int)Math.Min(end - at, segment.SectorsPerTrack - sector);
            Stop stop = ReadTrack(segment, (int)turn, (int)sector, count, backwards);
            if (!stop.IsNone)
                return stop;
            at += count;
        }

        return Stop.None;
    }

    private Stop ReadTrack(in Segment segment, int turn, int sector, int count, bool backwards)
    {
        long physical = segment.First + ((long)turn * segment.SectorsPerTrack) + sector;
        double began = arm.Now;
        if (condition.Heads[segment.Head].Dead)
            return Refuse(physical);
        arm.MoveTo(segment, turn, sector, physical);
        double margin = condition.MarginOf(segment.Head, PoweredSeconds);
        int retries = 0;
        Stop stop = Stop.None;
        if (!field.IsTouched(_segment) && double.IsPositiveInfinity(margin))
            arm.Read(count, segment);
        else
            stop = ReadDamaged(segment, turn, sector, count, backwards, margin, ref retries);
        arm.EndAt(stop.IsNone ? physical + count : -1);
        bool stressed = field.IsTouched(_segment) && field.IsMarked(segment.Head, segment.TrackAt(turn));
        bool died = condition.Work(segment.Head, (arm.Now - began) / 1e9, retries, stressed);
        return died && stop.IsNone ? Refuse(physical) : stop;
    }

    private Stop ReadDamaged(in Segment segment, int turn, int sector, int count, bool backwards, double margin, ref int retries)
    {
        field.Collect(_segment, turn, margin, hardOnly: false, _troubles);
        long track = segment.First + ((long)turn * segment.SectorsPerTrack);
        int done = sector;
        foreach (Trouble trouble in _troubles)
        {
            if (trouble.Sector < done || sector + count <= trouble.Sector)
                continue;
            arm.Read(trouble.Sector - done, segment);
            done = trouble.Sector;
            if (trouble.Kind is TroubleKind.HangsUntilReset or TroubleKind.HangsUntilPower)
                return new Stop(track + done, trouble.Cause, trouble.Kind == TroubleKind.HangsUntilReset ? HangCure.Reset : HangCure.Power);
            Recovered recovered = recovery.Try(trouble, track + done, backwards);
            arm.Spend(recovered.Nanoseconds);
            retries += recovered.Retries;
            if (!recovered.Answered)
                return new Stop(track + done, trouble.Cause);
        }

        arm.Read(sector + count - done, segment);
        return Stop.None;
    }

    /// <summary>The answer of a head that does not read: late, and with one of three causes (their shares are an assumption).</summary>
    private Stop Refuse(long physical)
    {
        double seconds = chance.Between(timing.DeadHeadSecondsMin, timing.DeadHeadSecondsMax), which = chance.Unit();
        arm.Spend(Math.Min(seconds, timing.RecoveryLimitSeconds ?? seconds) * 1e9);
        arm.Lose();
        RefusalCause cause = which < 0.6 ? RefusalCause.Medium : which < 0.85 ? RefusalCause.IdNotFound : RefusalCause.Aborted;
        return new Stop(physical, cause);
    }

    private ref readonly Segment SegmentAt(long sector)
    {
        ref readonly Segment last = ref layout.At(_segment);
        if (last.First <= sector && sector < last.End)
            return ref last;
        bool isNext = sector == last.End && _segment + 1 < layout.Segments.Count;
        _segment = isNext ? _segment + 1 : layout.SegmentAt(sector);
        return ref layout.At(_segment);
    }
}
