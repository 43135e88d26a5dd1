namespace Turnstone.Lab.Air;

/// <summary>What a count of random particles proves.</summary>
public static class Poisson
{
    /// <summary>The largest mean that a count is still compatible with, 95 % one-sided.</summary>
    /// <param name="count">Particles counted, from 0.</param>
    /// <remarks>
    /// The mean m with P(at most count | m) = 0.05; Garwood, Biometrika 28, 1936 (from memory). Above 1000 by Wilson and Hilferty's
    /// cube-root approximation of chi-square, which there agrees to six digits.
    /// </remarks>
    public static double UpperBound95(long count)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(count);
        return count > 1000 ? WilsonHilferty(count + 1) : Bisected((int)count);
    }

    private static double Bisected(int count)
    {
        double low = count, high = WilsonHilferty(count + 1) * 2;
        for (int i = 0; i < 200 && high - low > 1e-12 * high; i++)
        {
            double middle = (low + high) / 2;
            (low, high) = AtMost(count, middle) > 0.05 ? (middle, high) : (low, middle);
        }

        return (low + high) / 2;
    }

    private static double AtMost(int count, double mean)
    {
        double logTerm = -mean, sum = Math.Exp(logTerm);
        for (int i = 1; i <= count; i++)
        {
            logTerm += Math.Log(mean / i);
            sum += Math.Exp(logTerm);
        }

        return sum;
    }

    private static double WilsonHilferty(double n)
    {
        const double NormalQuantile95 = 1.6448536269514722;
        double root = 1 - (1 / (9 * n)) + (NormalQuantile95 / (3 * Math.Sqrt(n)));
        return n * root * root * root;
    }
}
