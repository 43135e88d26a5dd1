using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Protocols;

/// <summary>Where the heads rest when the drive is off.</summary>
public enum Parking
{
    /// <summary>On a ramp beside the platters.</summary>
    Ramp,

    /// <summary>On a zone of the platters near the hub.</summary>
    LandingZone,
}

/// <summary>What is known of the heads under the top one.</summary>
public enum LowerHeads
{
    /// <summary>Nobody has seen them.</summary>
    Unknown,

    /// <summary>Seen at rest.</summary>
    SeenParked,

    /// <summary>Seen on their surfaces.</summary>
    SeenStuck,
}

/// <summary>How a patient is built and found.</summary>
public sealed record DriveBuild
{
    /// <summary>Where its heads rest.</summary>
    public required Parking Parking { get; init; }

    /// <summary>Number of heads, 1 to 24.</summary>
    public required int Heads { get; init; }

    /// <summary>Number of platters, 1 to 12.</summary>
    public required int Platters { get; init; }

    /// <summary>What is known of the heads under the top one.</summary>
    public LowerHeads LowerHeads { get; init; } = LowerHeads.Unknown;

    /// <summary>Whether it is filled with helium and welded shut.</summary>
    public bool Sealed { get; init; }

    /// <summary>Whether the USB plug sits on the drive's own board.</summary>
    public bool UsbBoard { get; init; }

    /// <summary>What of this a step may depend on.</summary>
    public IReadOnlySet<Circumstance> Circumstances => new[]
    {
        (Parking == Parking.Ramp, Circumstance.Ramp), (Parking == Parking.LandingZone, Circumstance.LandingZone),
        (LowerHeads == LowerHeads.Unknown && Heads > 1, Circumstance.LowerHeadsUnknown), (LowerHeads == LowerHeads.SeenStuck, Circumstance.LowerHeadsStuck),
        (Platters > 1, Circumstance.SeveralPlatters), (Sealed, Circumstance.Sealed), (UsbBoard, Circumstance.UsbBoard),
    }.Where(c => c.Item1).Select(c => c.Item2).ToHashSet();

    /// <summary>Reads a description.</summary>
    public static Understood<DriveBuild> Read(string file, string text) => LabDocument.Read<DriveBuild>(file, text, b => b.Check());

    internal IEnumerable<Complaint> Check()
    {
        if (Heads is < 1 or > 24)
            yield return new("heads", $"{Heads}: a drive has 1 to 24 heads");
        if (Platters is < 1 or > 12)
            yield return new("platters", $"{Platters}: a drive has 1 to 12 platters");
        if (Heads > 2 * Platters)
            yield return new("heads", $"{Heads} heads on {Platters} platters: a platter has at most two");
    }
}

/// <summary>Something about a patient that a step may depend on.</summary>
public enum Circumstance
{
    /// <summary>Heads rest on a ramp.</summary>
    Ramp,

    /// <summary>Heads rest near the hub.</summary>
    LandingZone,

    /// <summary>Nobody has seen the heads under the top one.</summary>
    LowerHeadsUnknown,

    /// <summary>The heads under the top one were seen on their surfaces.</summary>
    LowerHeadsStuck,

    /// <summary>More than one platter.</summary>
    SeveralPlatters,

    /// <summary>Helium, welded shut.</summary>
    Sealed,

    /// <summary>The USB plug sits on the drive's own board.</summary>
    UsbBoard,
}
