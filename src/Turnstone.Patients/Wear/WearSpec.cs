namespace Turnstone.Patients.Wear;

/// <summary>How likely a head is to die while it works.</summary>
/// <remarks>
/// Hazard per second = rate · exp(growth · wear). No published hazard per hour on the bench was found; all figures here
/// are assumptions, to be fitted from a laboratory's own logs.
/// </remarks>
/// <param name="PerHour">Rate at no wear, per hour of the head's work.</param>
/// <param name="Growth">How much one unit of wear raises it, as an exponent.</param>
/// <param name="StressFactor">Extra wear per second on damaged tracks, in multiples of plain wear.</param>
public sealed record HazardSpec(double PerHour, double Growth, double StressFactor)
{
    /// <summary>A head that does not die of its work.</summary>
    public static HazardSpec None { get; } = new(0, 0.5, 0);

    /// <summary>One death in a hundred hours.</summary>
    public static HazardSpec Gentle { get; } = new(1.0 / 100, 0.5, 0);

    /// <summary>One death in five hours, much sooner on bad ground.</summary>
    public static HazardSpec Sick { get; } = new(1.0 / 5, 0.5, 20);

    /// <summary>One death in twenty minutes, at once on bad ground.</summary>
    public static HazardSpec Crashing { get; } = new(1.0 / 0.3, 0.5, 200);
}

/// <summary>How work and time wear a drive.</summary>
/// <remarks>
/// One unit of wear is ten hours of plain work: 1/36,000 a second. Retries and damaged ground add to it. All figures are
/// assumptions. Wear lowers the margin of a head's sectors, and so does warmth.
/// </remarks>
public sealed record WearSpec
{
    /// <summary>Extra wear of one second with one retry in it, in multiples of plain wear.</summary>
    public double RetryFactor { get; init; } = 1;

    /// <summary>Margin lost by one unit of wear, deviations.</summary>
    public double MarginPerWear { get; init; } = 0.3;

    /// <summary>Margin lost by ten degrees of warmth, deviations.</summary>
    public double MarginPerTenDegrees { get; init; } = 0.1;

    /// <summary>How much warmer than at the start the drive gets, degrees.</summary>
    public double WarmingDegrees { get; init; } = 15;

    /// <summary>Time to get two thirds of the way there, minutes.</summary>
    public double WarmingMinutes { get; init; } = 30;

    /// <summary>The hazard of every head that no damage says anything else of.</summary>
    public HazardSpec Heads { get; init; } = HazardSpec.None;

    /// <summary>Chance that a dying head leaves debris, which adds half a unit of wear to every other head.</summary>
    public double DebrisChance { get; init; } = 0.3;

    /// <summary>Rate at which the whole drive stops for good, per powered hour.</summary>
    public double DriveDeathsPerHour { get; init; }

    /// <summary>Chance that a reset stops it for good.</summary>
    public double DriveDeathPerReset { get; init; }

    /// <summary>Chance that a spin-up stops it for good.</summary>
    public double DriveDeathPerSpinUp { get; init; }
}
