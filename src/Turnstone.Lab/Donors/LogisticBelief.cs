using MathNet.Numerics.LinearAlgebra;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>What is believed of the weights in log odds of success: a normal distribution over them.</summary>
/// <remarks>
/// Bayesian logistic regression with independent normal priors; the posterior is taken as normal around its peak (Laplace),
/// found by Newton's method. Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 16; MacKay, Information Theory, Inference, and Learning Algorithms, ch. 41 (both from memory).
/// </remarks>
public sealed class LogisticBelief
{
    private readonly Vector<double> _mean;
    private readonly Matrix<double> _covariance;

    private LogisticBelief(Vector<double> mean, Matrix<double> covariance) => (_mean, _covariance) = (mean, covariance);

    /// <summary>The most probable weights.</summary>
    public IReadOnlyList<double> Weights => [.. _mean];

    /// <summary>How unsure each weight is, as a standard deviation.</summary>
    public IReadOnlyList<double> Deviations => [.. _covariance.Diagonal().PointwiseSqrt()];

    /// <summary>Learns from outcomes.</summary>
    /// <param name="means">Prior means of the weights.</param>
    /// <param name="deviations">Prior standard deviations, above 0.</param>
    /// <param name="outcomes">Counts (as many as weights) and whether it worked.</param>
    public static LogisticBelief Learn(IReadOnlyList<double> means, IReadOnlyList<double> deviations, IReadOnlyList<(double[] Counts, bool Worked)> outcomes)
    {
        Vector<double> prior = Vector<double>.Build.DenseOfEnumerable(means);
        Vector<double> precision = Vector<double>.Build.DenseOfEnumerable(deviations.Select(d => 1 / (d * d)));
        Vector<double> at = prior.Clone();
        // The posterior is concave in one peak; halving the step keeps Newton from overshooting where chances are near 0 or 1.
        for (int round = 0; round < 200; round++)
        {
            Vector<double> step = Hessian(at, precision, outcomes).Cholesky().Solve(Gradient(at, prior, precision, outcomes));
            double scale = 1;
            while (scale > 1e-6 && LogPosterior(at + (step * scale), prior, precision, outcomes) < LogPosterior(at, prior, precision, outcomes) - 1e-12)
                scale /= 2;
            at += step * scale;
            if (step.L2Norm() < 1e-10)
                break;
        }

        return new LogisticBelief(at, Hessian(at, precision, outcomes).Inverse());
    }

    /// <summary>The chance of success for some counts, averaged over what is believed of the weights.</summary>
    public Probability Chance(double[] counts)
    {
        (double mean, double deviation) = LogOdds(counts);
        // Mean of the logistic function over a normal distribution, by the midpoint rule over ±6 deviations.
        const int Parts = 400;
        double sum = 0, weight = 0;
        for (int i = 0; i < Parts; i++)
        {
            double z = -6 + (12.0 * (i + 0.5) / Parts), density = Math.Exp(-z * z / 2);
            sum += density * Logistic(mean + (deviation * z));
            weight += density;
        }

        return Probability.Near(sum / weight);
    }

    /// <summary>The range that the chance lies in with 90 %.</summary>
    public ProbabilityRange Range(double[] counts)
    {
        const double NormalQuantile95 = 1.6448536269514722;
        (double mean, double deviation) = LogOdds(counts);
        return new ProbabilityRange(new(Logistic(mean - (NormalQuantile95 * deviation))), new(Logistic(mean + (NormalQuantile95 * deviation))), new(0.9));
    }

    private (double Mean, double Deviation) LogOdds(double[] counts)
    {
        Vector<double> x = Vector<double>.Build.DenseOfArray(counts);
        return (_mean * x, Math.Sqrt(Math.Max(0, x * (_covariance * x))));
    }

    private static Vector<double> Gradient(Vector<double> at, Vector<double> prior, Vector<double> precision, IReadOnlyList<(double[] Counts, bool Worked)> outcomes)
    {
        Vector<double> gradient = (prior - at).PointwiseMultiply(precision);
        foreach ((double[] counts, bool worked) in outcomes)
        {
            Vector<double> x = Vector<double>.Build.DenseOfArray(counts);
            gradient += x * ((worked ? 1 : 0) - Logistic(at * x));
        }

        return gradient;
    }

    private static Matrix<double> Hessian(Vector<double> at, Vector<double> precision, IReadOnlyList<(double[] Counts, bool Worked)> outcomes)
    {
        Matrix<double> hessian = Matrix<double>.Build.DenseOfDiagonalVector(precision);
        foreach ((double[] counts, _) in outcomes)
        {
            Vector<double> x = Vector<double>.Build.DenseOfArray(counts);
            double p = Logistic(at * x);
            hessian += x.OuterProduct(x) * (p * (1 - p));
        }

        return hessian;
    }

    private static double LogPosterior(Vector<double> at, Vector<double> prior, Vector<double> precision, IReadOnlyList<(double[] Counts, bool Worked)> outcomes) =>
        outcomes.Sum(o => LogChance((o.Worked ? 1 : -1) * (at * Vector<double>.Build.DenseOfArray(o.Counts))))
        - ((at - prior).PointwisePower(2).PointwiseMultiply(precision).Sum() / 2);

    private static double LogChance(double logOdds) => logOdds > 0 ? -Math.Log(1 + Math.Exp(-logOdds)) : logOdds - Math.Log(1 + Math.Exp(logOdds));

    private static double Logistic(double logOdds) => 1 / (1 + Math.Exp(-logOdds));
}
