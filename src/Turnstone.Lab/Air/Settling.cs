using Turnstone.Lab.Values;

namespace Turnstone.Lab.Air;

/// <summary>Which form of the slip correction.</summary>
public enum SlipForm
{
    /// <summary>Hinds, Aerosol Technology, 2nd ed., eq. 3.20.</summary>
    Hinds,

    /// <summary>Davies 1945.</summary>
    Davies,

    /// <summary>Allen and Raabe 1985, solid spheres (constants from memory).</summary>
    AllenRaabe,
}

/// <summary>How particles fall in still air of 20 °C and one atmosphere.</summary>
public static class Settling
{
    // Hinds, Aerosol Technology, Appendix A4: air at 20 °C, 1 atm.
    private const double Gravity = 9.81, Viscosity = 1.81e-5, AirDensity = 1.20, MeanFreePath = 0.066e-6, MeanFreePathAllenRaabe = 0.0673e-6;

    /// <summary>Water-like particles.</summary>
    public static Density UnitDensity => new(1000);

    /// <summary>Slip correction factor, 1 for large particles.</summary>
    /// <param name="diameter">Particle diameter, above 0.</param>
    /// <param name="form">Which published form.</param>
    public static double Slip(Length diameter, SlipForm form = SlipForm.Hinds)
    {
        double d = diameter.Metres;
        return form switch
        {
            SlipForm.Hinds => 1 + (MeanFreePath / d * (2.34 + (1.05 * Math.Exp(-0.39 * d / MeanFreePath)))),
            SlipForm.Davies => Knudsen(2 * MeanFreePath / d, 1.257, 0.400, 1.10),
            SlipForm.AllenRaabe => Knudsen(2 * MeanFreePathAllenRaabe / d, 1.142, 0.558, 0.999),
        };
    }

    /// <summary>Settling velocity of a sphere.</summary>
    /// <param name="diameter">Particle diameter; valid from 0.01 µm to 50 µm.</param>
    /// <param name="density">Of the particle.</param>
    /// <param name="form">Which slip correction.</param>
    /// <exception cref="ArgumentOutOfRangeException">A diameter for which the formula doesn't hold.</exception>
    /// <remarks>Stokes' law with slip correction, v = ρ d² g C / 18 η; Hinds, Aerosol Technology, 2nd ed., ch. 3 (from memory).</remarks>
    public static Speed Velocity(Length diameter, Density density, SlipForm form = SlipForm.Hinds)
    {
        if (diameter.Micrometres is not (>= 0.01 and <= 50))
            throw new ArgumentOutOfRangeException(nameof(diameter), diameter, "Stokes' law with slip is used from 0.01 µm to 50 µm");
        return new Speed(density.KilogramsPerCubicMetre * diameter.Metres * diameter.Metres * Gravity * Slip(diameter, form) / (18 * Viscosity));
    }

    /// <summary>Reynolds number of a falling sphere; the law holds below 1.</summary>
    public static double Reynolds(Length diameter, Speed velocity) => AirDensity * velocity.MetresPerSecond * diameter.Metres / Viscosity;

    private static double Knudsen(double kn, double a, double b, double c) => 1 + (kn * (a + (b * Math.Exp(-c / kn))));
}
