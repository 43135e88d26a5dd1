using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>What of a drive matters for giving and taking heads.</summary>
public record Drive
{
    /// <summary>Serial number.</summary>
    public required SerialNumber Serial { get; init; }

    /// <summary>Model number as on the label.</summary>
    public required string Model { get; init; }

    /// <summary>Family or platform.</summary>
    public required string Family { get; init; }

    /// <summary>Firmware revision.</summary>
    public required string Firmware { get; init; }

    /// <summary>Number of heads, 1 to 24.</summary>
    public required int Heads { get; init; }

    /// <summary>Which slots have a head, such as '0,1,2,3'; null where not known.</summary>
    public string? HeadMap { get; init; }

    /// <summary>Type of the preamplifier; null where not known.</summary>
    public string? Preamplifier { get; init; }

    /// <summary>Type of the heads by the drive's own record; null where not known.</summary>
    public string? HeadType { get; init; }

    /// <summary>Site code; null where not known.</summary>
    public string? Site { get; init; }

    /// <summary>Day of making; null where not known.</summary>
    public DateOnly? Made { get; init; }

    /// <summary>Further code on the label that tells builds apart; null where not known.</summary>
    public string? LabelCode { get; init; }

    /// <summary>Capacity in gigabytes (10⁹ bytes).</summary>
    public required int CapacityGigabytes { get; init; }

    internal IEnumerable<Complaint> Check(string where)
    {
        if (Heads is < 1 or > 24)
            yield return new($"{where}heads", $"{Heads}: a drive has 1 to 24 heads");
        if (CapacityGigabytes < 1)
            yield return new($"{where}capacityGigabytes", $"{CapacityGigabytes}: a capacity is above 0");
        if (HeadMap is not null && HeadMap.Split(',').Length != Heads)
            yield return new($"{where}headMap", $"'{HeadMap}' has {HeadMap.Split(',').Length} slots for {Heads} heads");
    }
}

/// <summary>A patient that needs heads.</summary>
public sealed record PatientDrive : Drive
{
    /// <summary>Whether its surface has marks: new heads may be lost on them.</summary>
    public bool SurfaceMarked { get; init; }

    /// <summary>Reads a patient.</summary>
    public static Understood<PatientDrive> Read(string file, string text) => LabDocument.Read<PatientDrive>(file, text, p => p.Check(""));
}

/// <summary>Where a donor stands in its life.</summary>
public enum DonorState
{
    /// <summary>On the shelf; nobody has seen its heads read.</summary>
    Bought,

    /// <summary>On the shelf; its heads were seen to read.</summary>
    Proven,

    /// <summary>Its heads went into a patient.</summary>
    Used,

    /// <summary>Its heads are lost.</summary>
    Spoiled,
}

/// <summary>A drive that gives its heads.</summary>
public sealed record Donor : Drive
{
    /// <summary>The lab's own number for it.</summary>
    public required string Id { get; init; }

    /// <summary>How it came: new, used, refurbished, hours.</summary>
    public required string Condition { get; init; }

    /// <summary>What it cost.</summary>
    public required Money Price { get; init; }

    /// <summary>Where it stands.</summary>
    public required DonorState State { get; init; }

    /// <summary>What happened to it, in order.</summary>
    public IReadOnlyList<DonorEvent> History { get; init; } = [];
}

/// <summary>Something that happened to a donor.</summary>
/// <param name="On">Day.</param>
/// <param name="To">Where it stands since.</param>
/// <param name="Case">The case that its cost is booked to; null where none.</param>
/// <param name="Booked">What was booked.</param>
/// <param name="Note">In words.</param>
public sealed record DonorEvent(DateOnly On, DonorState To, string? Case, Money Booked, string Note);
