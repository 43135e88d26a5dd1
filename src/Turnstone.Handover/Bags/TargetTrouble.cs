namespace Turnstone.Handover;

/// <summary>Says in plain words why a target did not take what was written.</summary>
internal static class TargetTrouble
{
    // errno values of Linux, which .NET hands on as HResult (asm-generic/errno-base.h and errno.h, from memory).
    private const int FileTooLarge = 27, NoSpace = 28, ReadOnly = 30, OverQuota = 122, InputOutput = 5;

    /// <summary>The trouble as a hand-over's.</summary>
    public static HandoverException Explain(string bag, Exception trouble) => new(
        trouble.HResult switch
        {
            NoSpace or OverQuota => $"The target is full: {Free(bag)}. '{bag}' is unfinished. Remove it and hand over to a larger target.",
            FileTooLarge => $"The target's file system cannot hold so large a file: {trouble.Message} '{bag}' is unfinished. Use a target with exFAT, NTFS or ext4.",
            ReadOnly => $"The target is read-only: {trouble.Message} Mount it for writing or name another one.",
            InputOutput => $"The target failed while it was written: {trouble.Message} '{bag}' is unfinished. Do not trust that medium; hand over to another one.",
            _ => $"The target cannot be written: {trouble.Message} '{bag}' is unfinished.",
        },
        trouble);

    private static string Free(string bag)
    {
        try
        {
            return $"{new DriveInfo(bag).AvailableFreeSpace} bytes are free";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return "nothing more can be written";
        }
    }
}
