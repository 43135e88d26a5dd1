using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Air;

/// <summary>What was checked.</summary>
public enum CabinetCheckKind
{
    /// <summary>Particles were counted.</summary>
    Count,

    /// <summary>Velocities were read.</summary>
    Velocity,

    /// <summary>A new filter was fitted.</summary>
    Filter,
}

/// <summary>One check of a cabinet.</summary>
/// <param name="Cabinet">Which.</param>
/// <param name="Kind">What was checked.</param>
/// <param name="On">On which day.</param>
/// <param name="Who">Who did.</param>
/// <param name="Good">Whether it was as it should be.</param>
/// <param name="Note">Numbers or words.</param>
public sealed record CabinetCheck(string Cabinet, CabinetCheckKind Kind, DateOnly On, string Who, bool Good, string Note);

/// <summary>All checks of all cabinets.</summary>
public sealed record CabinetLog
{
    /// <summary>No check yet.</summary>
    public static CabinetLog Empty { get; } = new() { Checks = [] };

    /// <summary>The checks.</summary>
    public required IReadOnlyList<CabinetCheck> Checks { get; init; }

    /// <summary>Reads the log.</summary>
    public static Understood<CabinetLog> Read(string file, string text) => LabDocument.Read<CabinetLog>(file, text);

    /// <summary>What is overdue or was bad, in sentences; a check that was never made is overdue.</summary>
    /// <param name="today">The day to reckon from.</param>
    /// <param name="intervals">How often.</param>
    public IReadOnlyList<string> Reminders(DateOnly today, CheckIntervals intervals) => [.. Checks.Select(c => c.Cabinet).Distinct().Order(StringComparer.Ordinal)
        .SelectMany(cabinet => Enum.GetValues<CabinetCheckKind>().Select(kind => Reminder(cabinet, kind, today, intervals))).OfType<string>()];

    private string? Reminder(string cabinet, CabinetCheckKind kind, DateOnly today, CheckIntervals intervals)
    {
        CabinetCheck? last = Checks.Where(c => c.Cabinet == cabinet && c.Kind == kind && c.On <= today).MaxBy(c => c.On);
        (string what, TimeSpan every) = kind switch
        {
            CabinetCheckKind.Count => ("particle count", intervals.CountEvery),
            CabinetCheckKind.Velocity => ("velocity check", intervals.VelocityEvery),
            CabinetCheckKind.Filter => ("filter", intervals.FilterAge),
        };
        if (last is null)
            return $"{cabinet}: no {what} is on record; open nothing in it before";
        if (!last.Good)
            return $"{cabinet}: the last {what} ({last.On:yyyy-MM-dd}) was bad; open nothing in it";
        int late = today.DayNumber - last.On.DayNumber - (int)every.TotalDays;
        return late > 0 ? $"{cabinet}: the {what} of {last.On:yyyy-MM-dd} is {Words.Count(late, "day")} over its {every.TotalDays:0} days" : null;
    }
}
