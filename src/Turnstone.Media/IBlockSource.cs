namespace Turnstone.Media;

/// <summary>Who the source is, as far as it says so.</summary>
/// <param name="Address">How it was opened: a path or an address.</param>
/// <param name="Kind">File, block device, network block device or simulated patient, in words for a person.</param>
/// <param name="Model">Model name, or null where the source has none.</param>
/// <param name="Serial">Serial number, or null where the source has none.</param>
public sealed record SourceIdentity(string Address, string Kind, string? Model = null, string? Serial = null)
{
    /// <summary>What a technician should know before the read: bytes that are left out, a protection that could not be set.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
}

/// <summary>A place that sectors are read from. Nothing in this interface can write.</summary>
/// <remarks>
/// One read at a time: a source is not safe for several threads. A refusal or silence leaves it usable;
/// a refusal with <see cref="RefusalCause.Gone"/> means that further reads will answer the same until it is opened anew.
/// </remarks>
public interface IBlockSource : IDisposable
{
    /// <summary>Who the source is.</summary>
    SourceIdentity Identity { get; }

    /// <summary>Its sector sizes and capacity, read once when it was opened.</summary>
    Geometry Geometry { get; }

    /// <summary>The clock on which answers are timed: real time, or a simulated patient's virtual time.</summary>
    TimeProvider Clock => TimeProvider.System;

    /// <summary>Reads one range, waiting no longer than the limit.</summary>
    /// <param name="range">Sectors to read; at least one, none past the capacity.</param>
    /// <param name="into">Where the bytes go; page-aligned (<see cref="SectorBuffer"/>) and at least as long as the range.
    /// After a <see cref="ReadOutcome.Silent"/> that was sent it belongs to the source and must not be used again.</param>
    /// <param name="limit">Longest wait; <see cref="Timeout.InfiniteTimeSpan"/> for none. Sources whose request cannot
    /// be given up (a file, a plain device) may take longer; wrap them in <see cref="LimitedSource"/>.</param>
    /// <exception cref="ArgumentException">The range is empty or outside the capacity, or the buffer is too short.</exception>
    ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit);
}
