using Turnstone.Media;
using Turnstone.Reading;
using Turnstone.Reading.Map;
using Turnstone.Reading.Stages;

namespace Turnstone.Cli.Display;

/// <summary>Turnstone's own words for its states, as people and programs see them.</summary>
internal static class Words
{
    public static string Of(SectorState state) => state switch
    {
        SectorState.Unasked => "unasked",
        SectorState.Held => "held",
        SectorState.PassedOver => "passed over",
        SectorState.Refused => "refused",
        SectorState.Withheld => "withheld",
    };

    public static string Of(StageName stage) => stage switch
    {
        StageName.Survey => "survey",
        StageName.Sweep => "sweep",
        StageName.Edges => "edges",
        StageName.Glean => "glean",
        StageName.Appeal => "appeal",
    };

    public static string Of(RefusalCause cause) => cause switch
    {
        RefusalCause.Unspecified => "an input/output error",
        RefusalCause.Medium => "a medium error",
        RefusalCause.IdNotFound => "sector not found",
        RefusalCause.Aborted => "the drive gave the command up",
        RefusalCause.InterfaceCrc => "a transfer error (cable or bridge)",
        RefusalCause.DeviceFault => "a fault that the drive reports",
        RefusalCause.NotReady => "not ready",
        RefusalCause.Hardware => "broken hardware",
        RefusalCause.PastEnd => "past the end",
        RefusalCause.Silence => "no answer",
        RefusalCause.Gone => "gone",
    };

    /// <summary>Why a sitting ended, and what to do.</summary>
    public static string Of(ReadEnd end) => end switch
    {
        ReadEnd.Finished => "Finished: every stage came to its end.",
        ReadEnd.Stopped => "Stopped as asked. Everything held is safe; the same command goes on from here.",
        ReadEnd.BudgetSpent => "The time given is spent. Everything held is safe; the same command goes on from here.",
        ReadEnd.SourceGone => "The source is gone. Everything held is safe. Attach it again (check cable, power, bridge), then run the same command.",
        ReadEnd.SourceSilent => "The source did not answer three times in a row. Everything held is safe. Let it rest or cycle its power, then run the same command.",
        ReadEnd.SourceShrank => "The source ends earlier than it said when it was opened. Everything held is safe. Check bridge and cable before going on.",
    };

    /// <summary>A short word for programs.</summary>
    public static string Code(ReadEnd end) => end switch
    {
        ReadEnd.Finished => "finished",
        ReadEnd.Stopped => "stopped",
        ReadEnd.BudgetSpent => "budget-spent",
        ReadEnd.SourceGone => "source-gone",
        ReadEnd.SourceSilent => "source-silent",
        ReadEnd.SourceShrank => "source-shrank",
    };
}
