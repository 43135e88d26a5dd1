namespace Turnstone.Media.Target;

/// <summary>Where a patient's bytes are kept, each at its own offset.</summary>
/// <remarks>Safe for several threads. What was written counts as durable only after <see cref="MakeDurable"/> came back.</remarks>
public interface IImageTarget : IDisposable
{
    /// <summary>Bytes from the first to the last sector.</summary>
    long Length { get; }

    /// <summary>Writes bytes at an offset.</summary>
    /// <exception cref="TargetFailure">They could not be written.</exception>
    void Write(long offset, ReadOnlySpan<byte> bytes);

    /// <summary>Reads bytes back, durable or not yet.</summary>
    /// <exception cref="TargetFailure">They could not be read.</exception>
    void Read(long offset, Span<byte> into);

    /// <summary>Returns when all that was written before the call would survive a loss of power.</summary>
    /// <exception cref="TargetFailure">That cannot be promised.</exception>
    void MakeDurable();
}
