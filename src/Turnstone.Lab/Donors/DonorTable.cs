using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>Something in which a donor must agree with the patient.</summary>
public enum HardFeature
{
    /// <summary>Model number.</summary>
    Model,

    /// <summary>Family.</summary>
    Family,

    /// <summary>Number of heads.</summary>
    HeadCount,

    /// <summary>Populated slots, where both are known.</summary>
    HeadMap,

    /// <summary>Preamplifier, where both are known.</summary>
    Preamplifier,

    /// <summary>Capacity.</summary>
    Capacity,
}

/// <summary>Something that makes a donor more or less likely to work.</summary>
public enum Feature
{
    /// <summary>Populated slots.</summary>
    HeadMap,

    /// <summary>Preamplifier.</summary>
    Preamplifier,

    /// <summary>Head type.</summary>
    HeadType,

    /// <summary>The first characters of the firmware revision.</summary>
    FirmwareGeneration,

    /// <summary>Site code.</summary>
    Site,

    /// <summary>Time between the two makings.</summary>
    Date,

    /// <summary>Label code.</summary>
    LabelCode,

    /// <summary>Whether nobody has seen the donor's heads read.</summary>
    Unproven,
}

/// <summary>Which way a feature counts.</summary>
public enum Counting
{
    /// <summary>1 where the two differ.</summary>
    Differs,

    /// <summary>1 where the two agree.</summary>
    Agrees,
}

/// <summary>What is believed of donors before the lab's own outcomes; a laboratory edits it.</summary>
public sealed record DonorTable
{
    /// <summary>Name of the table's file.</summary>
    public const string File = "donors.json";

    /// <summary>Where the numbers come from.</summary>
    public required string Source { get; init; }

    /// <summary>What rules a donor out.</summary>
    public required IReadOnlyList<HardFeature> Hard { get; init; }

    /// <summary>Log odds that a donor works that agrees in everything and is proven.</summary>
    public required double BaseMean { get; init; }

    /// <summary>How unsure that is, as a standard deviation of the log odds.</summary>
    public required double BaseDeviation { get; init; }

    /// <summary>What each feature does.</summary>
    public required IReadOnlyList<FeatureRow> Features { get; init; }

    /// <summary>How many first characters of a firmware revision are its generation.</summary>
    public required int FirmwareGenerationCharacters { get; init; }

    /// <summary>The chance that a try loses the patient for good.</summary>
    public required LossRow LosesPatient { get; init; }

    /// <summary>Whether a donor from the shelf costs the case its price: it has to be bought again.</summary>
    public required bool CountShelfPrice { get; init; }

    /// <summary>Reads the table.</summary>
    public static Understood<DonorTable> Read(TableShelf shelf) => shelf.Read<DonorTable>(File, Check);

    private static IEnumerable<Complaint> Check(DonorTable table)
    {
        foreach (Feature feature in Enum.GetValues<Feature>().Where(f => table.Features.Count(r => r.Feature == f) != 1))
            yield return new("features", $"'{Words.Of(feature)}' stands here {table.Features.Count(r => r.Feature == feature)} times; expected once");
        if (!(table.BaseDeviation > 0))
            yield return new("baseDeviation", $"{table.BaseDeviation}: must be above 0");
        if (table.Features.ToList().FindIndex(r => !(r.Deviation > 0)) is var bad && bad >= 0)
            yield return new($"features[{bad}].deviation", $"{table.Features[bad].Deviation}: must be above 0; nothing could ever change a belief without doubt");
        if (table.FirmwareGenerationCharacters < 1)
            yield return new("firmwareGenerationCharacters", "at least 1 character");
    }
}

/// <summary>What a feature does.</summary>
/// <param name="Feature">Which.</param>
/// <param name="Counts">Which way it counts.</param>
/// <param name="Mean">What a full count adds to the log odds.</param>
/// <param name="Deviation">How unsure that is.</param>
/// <param name="Unknown">The count where one of the two isn't known.</param>
/// <param name="Says">The full count in words.</param>
public sealed record FeatureRow(Feature Feature, Counting Counts, double Mean, double Deviation, Probability Unknown, string Says);

/// <summary>The chance that a try loses the patient.</summary>
/// <param name="SurfaceClean">With a clean surface.</param>
/// <param name="SurfaceMarked">With a marked one.</param>
public sealed record LossRow(Probability SurfaceClean, Probability SurfaceMarked);
