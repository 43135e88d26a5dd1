using System.Diagnostics;

namespace Turnstone.Media;

/// <summary>Why a source refused a read.</summary>
public enum RefusalCause
{
    /// <summary>An input/output error with no further reason given.</summary>
    Unspecified,

    /// <summary>The medium could not be read: an uncorrectable error.</summary>
    Medium,

    /// <summary>The drive did not find the sector's address on the surface.</summary>
    IdNotFound,

    /// <summary>The drive gave the command up.</summary>
    Aborted,

    /// <summary>The transfer between drive and host was damaged: cable or bridge, not the surface.</summary>
    InterfaceCrc,

    /// <summary>The drive reports a fault of its own.</summary>
    DeviceFault,

    /// <summary>The drive is not ready.</summary>
    NotReady,

    /// <summary>The drive reports broken hardware.</summary>
    Hardware,

    /// <summary>The range lies past the end that the source has now.</summary>
    PastEnd,

    /// <summary>No answer within the limit.</summary>
    Silence,

    /// <summary>The source is not there any more; asking again is of no use before it is back.</summary>
    Gone,
}

/// <summary>What a source answered to one read: bytes, a refusal, or silence past the limit.</summary>
/// <remarks>These three cases are all there are. Callers go through <see cref="Match"/>.</remarks>
public abstract record ReadOutcome
{
    private ReadOutcome()
    {
    }

    /// <summary>The sectors that were asked for.</summary>
    public required SectorRange Asked { get; init; }

    /// <summary>How long the answer took, on the source's own clock.</summary>
    public required TimeSpan Took { get; init; }

    /// <summary>All bytes of the range.</summary>
    /// <param name="Data">The caller's own buffer, cut to the range.</param>
    public sealed record Bytes(ReadOnlyMemory<byte> Data) : ReadOutcome;

    /// <summary>The source answered with an error.</summary>
    /// <param name="Cause">Why.</param>
    /// <param name="FirstBad">Where the trouble begins, as far as the source says so: a hint, the sector may be a later one.</param>
    public sealed record Refused(RefusalCause Cause, Lba? FirstBad = null) : ReadOutcome;

    /// <summary>No answer within the limit.</summary>
    /// <param name="NotSent">True when an earlier question is still out, so that this one was never put: nothing is known of
    /// its sectors, and the buffer is the caller's. Otherwise the source may still write into the buffer: it is lost.</param>
    public sealed record Silent(bool NotSent = false) : ReadOutcome;

    /// <summary>Runs the function that belongs to the case.</summary>
    public T Match<T>(Func<Bytes, T> bytes, Func<Refused, T> refused, Func<Silent, T> silent) => this switch
    {
        Bytes b => bytes(b),
        Refused r => refused(r),
        Silent s => silent(s),
        _ => throw new UnreachableException(),
    };
}
