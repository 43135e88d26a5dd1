using Turnstone.Media;

namespace Turnstone.Patients;

/// <summary>How a drive answered, without the bytes.</summary>
public enum AnswerKind
{
    /// <summary>All sectors of the range.</summary>
    Bytes,

    /// <summary>All sectors of the range, which the drive has never written: zeros, with nothing read from a surface.</summary>
    Unmapped,

    /// <summary>An error.</summary>
    Refused,

    /// <summary>Nothing within the limit.</summary>
    Silent,
}

/// <summary>What a simulated drive says to one read, without moving a byte: outcome and time only.</summary>
/// <param name="Kind">How it answered.</param>
/// <param name="Nanoseconds">How long it took, on virtual time.</param>
/// <param name="Cause">Why it refused; without meaning for other kinds.</param>
/// <param name="FirstBad">The first sector that could not be read, where the drive names it.</param>
public readonly record struct Answer(AnswerKind Kind, long Nanoseconds, RefusalCause Cause = RefusalCause.Unspecified, Lba? FirstBad = null)
{
    /// <summary>Whether the sectors were delivered.</summary>
    public bool IsGiven => Kind is AnswerKind.Bytes or AnswerKind.Unmapped;

    /// <summary>How long it took.</summary>
    public TimeSpan Took => TimeSpan.FromTicks(Nanoseconds / TimeSpan.NanosecondsPerTick);
}
