namespace Turnstone.Patients.Chances;

/// <summary>The standard normal distribution.</summary>
internal static class Normal
{
    /// <summary>Probability of a value below x; relative error below 2e-7.</summary>
    /// <remarks>Chebyshev fit of the complementary error function: Press et al., Numerical Recipes, 2nd ed., section 6.2 (from memory).</remarks>
    public static double Below(double x)
    {
        double z = Math.Abs(x) / Math.Sqrt(2), t = 1 / (1 + (0.5 * z));
        double tail = 0.5 * t * Math.Exp((-z * z) - 1.26551223 + (t * (1.00002368 + (t * (0.37409196 + (t * (0.09678418
            + (t * (-0.18628806 + (t * (0.27886807 + (t * (-1.13520398 + (t * (1.48851587 + (t * (-0.82215223 + (t * 0.17087277))))))))))))))))));
        return x < 0 ? tail : 1 - tail;
    }

    /// <summary>The value that a share of the distribution lies below; the share lies in (0, 1).</summary>
    /// <remarks>Rational fits in three ranges after Acklam (from memory); relative error below 1.2e-9.</remarks>
    public static double Quantile(double share)
    {
        const double Low = 0.02425;
        if (share < Low)
            return Tail(Math.Sqrt(-2 * Math.Log(share)));
        if (share > 1 - Low)
            return -Tail(Math.Sqrt(-2 * Math.Log(1 - share)));
        double q = share - 0.5, r = q * q;
        double top = (((((((((-39.69683028665376 * r) + 220.9460984245205) * r) - 275.9285104469687) * r) + 138.3577518672690) * r) - 30.66479806614716) * r) + 2.506628277459239;
        double bottom = (((((((((-54.47609879822406 * r) + 161.5858368580409) * r) - 155.6989798598866) * r) + 66.80131188771972) * r) - 13.28068155288572) * r) + 1;
        return top * q / bottom;
    }

    private static double Tail(double q)
    {
        double top = (((((((((-0.007784894002430293 * q) - 0.3223964580411365) * q) - 2.400758277161838) * q) - 2.549732539343734) * q) + 4.374664141464968) * q) + 2.938163982698783;
        double bottom = (((((((0.007784695709041462 * q) + 0.3224671290700398) * q) + 2.445134137142996) * q) + 3.754408661907416) * q) + 1;
        return top / bottom;
    }
}
