using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Donors;

/// <summary>How a donor agrees with a patient.</summary>
/// <param name="Conflicts">Why it is ruled out; empty where it isn't.</param>
/// <param name="Counts">Each feature's count, from 0; not set for a donor that is ruled out.</param>
public sealed record Agreement(IReadOnlyList<string> Conflicts, IReadOnlyDictionary<Feature, double> Counts)
{
    /// <summary>Compares the two.</summary>
    public static Agreement Of(DonorTable table, PatientDrive patient, Donor donor) =>
        new([.. Ruled(table, patient, donor)], table.Features.ToDictionary(r => r.Feature, r => Count(table, r, patient, donor)));

    private static IEnumerable<string> Ruled(DonorTable table, PatientDrive patient, Donor donor)
    {
        if (donor.State is DonorState.Used or DonorState.Spoiled)
            yield return $"it is {Words.Of(donor.State)}";
        if (donor.Serial == patient.Serial)
            yield return "it is the patient";
        foreach (HardFeature hard in table.Hard)
        {
            (string what, string? ours, string? theirs) = Hard(hard, patient, donor);
            if (ours is not null && theirs is not null && !Same(ours, theirs))
                yield return $"{what} {theirs}, the patient has {ours}";
        }
    }

    private static (string What, string? Ours, string? Theirs) Hard(HardFeature hard, PatientDrive patient, Donor donor) => hard switch
    {
        HardFeature.Model => ("model", patient.Model, donor.Model),
        HardFeature.Family => ("family", patient.Family, donor.Family),
        HardFeature.HeadCount => ("number of heads", $"{patient.Heads}", $"{donor.Heads}"),
        HardFeature.HeadMap => ("head map", patient.HeadMap, donor.HeadMap),
        HardFeature.Preamplifier => ("preamplifier", patient.Preamplifier, donor.Preamplifier),
        HardFeature.Capacity => ("capacity in GB", $"{patient.CapacityGigabytes}", $"{donor.CapacityGigabytes}"),
    };

    private static double Count(DonorTable table, FeatureRow row, PatientDrive patient, Donor donor)
    {
        double? differs = row.Feature switch
        {
            Feature.HeadMap => Differs(patient.HeadMap, donor.HeadMap),
            Feature.Preamplifier => Differs(patient.Preamplifier, donor.Preamplifier),
            Feature.HeadType => Differs(patient.HeadType, donor.HeadType),
            Feature.FirmwareGeneration => Differs(Generation(table, patient), Generation(table, donor)),
            Feature.Site => Differs(patient.Site, donor.Site),
            Feature.Date => Apart(patient.Made, donor.Made),
            Feature.LabelCode => Differs(patient.LabelCode, donor.LabelCode),
            Feature.Unproven => donor.State == DonorState.Bought ? 1 : 0,
        };
        return differs is not { } d ? row.Unknown.Value : row.Counts switch { Counting.Differs => d, Counting.Agrees => Math.Max(0, 1 - d) };
    }

    private static double? Differs(string? ours, string? theirs) => ours is null || theirs is null ? null : Same(ours, theirs) ? 0 : 1;

    // Up to three months apart counts nothing, twelve months count 1, two years and more count 2.
    private static double? Apart(DateOnly? ours, DateOnly? theirs)
    {
        if (ours is not { } a || theirs is not { } b)
            return null;
        double months = Math.Abs(a.DayNumber - b.DayNumber) / 30.44;
        return Math.Clamp((months - 3) / 9, 0, 2);
    }

    private static string Generation(DonorTable table, Drive drive) => drive.Firmware[..Math.Min(drive.Firmware.Length, table.FirmwareGenerationCharacters)];

    private static bool Same(string a, string b) => string.Equals(a.Replace(" ", ""), b.Replace(" ", ""), StringComparison.OrdinalIgnoreCase);
}
