using Turnstone.Media;

namespace Turnstone.Reading.Map;

/// <summary>State of a sector in the read map.</summary>
public enum SectorState
{
    /// <summary>The drive has not been asked for it.</summary>
    Unasked,

    /// <summary>Its bytes are in the image.</summary>
    Held,

    /// <summary>Asked for as part of a larger range that failed or was slow; left for later.</summary>
    PassedOver,

    /// <summary>Asked for on its own and the drive answered with an error.</summary>
    Refused,

    /// <summary>The plan or the technician says: do not ask.</summary>
    Withheld,
}

/// <summary>What the map says of a sector.</summary>
/// <param name="State">Its state.</param>
/// <param name="Cause">Why it was refused or passed over; null otherwise.</param>
/// <param name="Asks">How often it was asked for on its own, up to 255.</param>
public readonly record struct MapMark(SectorState State, RefusalCause? Cause = null, byte Asks = 0)
{
    /// <summary>Not asked yet.</summary>
    public static MapMark Unasked => default;

    /// <summary>In the image.</summary>
    public static MapMark Held => new(SectorState.Held);

    /// <summary>Left for later because a larger range failed.</summary>
    public static MapMark PassedOver(RefusalCause? cause) => new(SectorState.PassedOver, cause);

    /// <summary>Refused on its own.</summary>
    public static MapMark Refused(RefusalCause cause, int asks) => new(SectorState.Refused, cause, (byte)Math.Min(asks, 255));
}

/// <summary>A stretch of sectors with one mark.</summary>
/// <param name="Range">Which sectors.</param>
/// <param name="Mark">What the map says of each of them.</param>
public readonly record struct MapRun(SectorRange Range, MapMark Mark);
