using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Protocols;

/// <summary>What every plan must keep, however a lab edits its protocols. Common practice, no source.</summary>
internal static class PlanRules
{
    /// <summary>The first rule that the steps break, with the index of the step; null where they keep all.</summary>
    public static (int Step, string What)? FirstBroken(IReadOnlyList<ProtocolStep> steps, IReadOnlySet<Circumstance> circumstances)
    {
        for (int i = 0; i < steps.Count; i++)
        {
            foreach (Mark mark in steps[i].Marks)
            {
                if (Broken(mark, [.. steps.Take(i)], circumstances) is { } what)
                    return (i, what);
            }
        }

        return null;
    }

    private static string? Broken(Mark mark, IReadOnlyList<ProtocolStep> before, IReadOnlySet<Circumstance> circumstances) => mark switch
    {
        Mark.ClosesLid when !HoldSince(before, Mark.OpensLid, Mark.SurfaceSeenClean) =>
            "the lid is closed before a hold point says that the surface was seen clean",
        Mark.AppliesPower when Last(before, Mark.OpensLid) >= 0 && !HoldSince(before, Mark.OpensLid, Mark.SurfaceSeenClean) =>
            "power is applied to an opened drive before a hold point says that the surface was seen clean",
        Mark.AppliesPower when Last(before, Mark.ReleasesHeads) > Last(before, Mark.FitsHeads) =>
            "power is applied with released heads in the drive; released heads never return to a client's drive",
        Mark.FitsHeads when Last(before, Mark.HeadsProven) < 0 || before[Last(before, Mark.HeadsProven)].Hold is null =>
            "heads are fitted before a hold point says that they were proven",
        Mark.ReleasesHeads when circumstances.Contains(Circumstance.Ramp) && circumstances.Contains(Circumstance.LowerHeadsUnknown) && Last(before, Mark.RemovesRamp) < 0 =>
            "heads are released while the ramp is in and the lower heads are unknown; the ramp comes out first",
        Mark.WritesFirmware when Last(before, Mark.SavedTwice) < 0 || before[Last(before, Mark.SavedTwice)].Hold is null =>
            "firmware is written before a hold point says that ROM and service area were saved twice",
        Mark.OpensLid or Mark.RemovesRamp or Mark.ReleasesHeads or Mark.FitsHeads or Mark.HeadsProven
            or Mark.SurfaceSeenClean or Mark.ClosesLid or Mark.AppliesPower or Mark.SavedTwice or Mark.WritesFirmware => null,
    };

    private static bool HoldSince(IReadOnlyList<ProtocolStep> before, Mark opened, Mark seen) =>
        Last(before, seen) is int at && at > Last(before, opened) && before[at].Hold is not null;

    private static int Last(IReadOnlyList<ProtocolStep> steps, Mark mark) => steps.ToList().FindLastIndex(s => s.Marks.Contains(mark));
}
