using Turnstone.Lab.Donors;

namespace Turnstone.Lab.Tests.Donors;

public class Logistic_belief
{
    // Hours of study and a pass: the worked example in the encyclopedia article 'Logistic regression' (from memory): intercept -4.0777, slope 1.5046, standard errors 1.7610 and 0.6287.
    private static readonly double[] Hours = [0.5, 0.75, 1, 1.25, 1.5, 1.75, 1.75, 2, 2.25, 2.5, 2.75, 3, 3.25, 3.5, 4, 4.25, 4.5, 4.75, 5, 5.5];
    private static readonly int[] Passed = [0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1, 1, 1, 1, 1];

    // Field-joint damage and temperature, 23 flights: Dalal, Fowlkes and Hoadley, Journal of the American Statistical Association 84, 1989 (from memory): 15.043 and -0.2322.
    private static readonly double[] Fahrenheit = [66, 70, 69, 68, 67, 72, 73, 70, 57, 63, 70, 78, 67, 53, 67, 75, 70, 81, 76, 79, 75, 76, 58];
    private static readonly int[] Damaged = [0, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1];

    [Fact]
    public void With_almost_no_prior_it_finds_the_published_coefficients_of_the_study_example()
    {
        LogisticBelief belief = Flat(Hours, Passed);
        Assert.Equal((-4.0777, 1.5046), (Math.Round(belief.Weights[0], 4), Math.Round(belief.Weights[1], 4)));
        Assert.Equal((1.761, 0.629), (Math.Round(belief.Deviations[0], 3), Math.Round(belief.Deviations[1], 3)));
    }

    [Fact]
    public void And_those_of_the_joint_example()
    {
        LogisticBelief belief = Flat(Fahrenheit, Damaged);
        Assert.Equal((15.043, -0.2322), (Math.Round(belief.Weights[0], 3), Math.Round(belief.Weights[1], 4)));
    }

    [Fact]
    public void Without_outcomes_the_belief_is_the_prior()
    {
        LogisticBelief belief = LogisticBelief.Learn([0.8, -1], [0.5, 0.7], []);
        Assert.Equal([0.8, -1, 0.5, 0.7], belief.Weights.Concat(belief.Deviations), (a, b) => Math.Abs(a - b) < 1e-9);
    }

    [Fact]
    public void One_weight_agrees_with_the_integral_over_it() => Gen.Select(Gen.Int[0, 10], Gen.Int[0, 10]).Sample((hits, misses) =>
    {
        (double[], bool)[] outcomes = [.. Enumerable.Repeat((new double[] { 1 }, true), hits), .. Enumerable.Repeat((new double[] { 1 }, false), misses)];
        double laplace = LogisticBelief.Learn([0], [1], outcomes).Chance([1]).Value;
        return Math.Abs(laplace - Integral(hits, misses)) < 0.03;
    });

    [Fact]
    public void The_range_holds_the_truth_about_nine_times_in_ten()
    {
        var random = new Random(5);
        int held = 0;
        for (int world = 0; world < 400; world++)
        {
            double weight = Normal(random), truth = 1 / (1 + Math.Exp(-weight));
            (double[], bool)[] outcomes = [.. Enumerable.Range(0, 20).Select(_ => (new double[] { 1 }, random.NextDouble() < truth))];
            var range = LogisticBelief.Learn([0], [1], outcomes).Range([1]);
            held += truth >= range.Low.Value && truth <= range.High.Value ? 1 : 0;
        }

        Assert.InRange(held, 340, 380);
    }

    private static LogisticBelief Flat(double[] x, int[] y) =>
        LogisticBelief.Learn([0, 0], [1e4, 1e4], [.. x.Zip(y, (a, b) => (new[] { 1, a }, b == 1))]);

    private static double Integral(int hits, int misses)
    {
        double above = 0, below = 0;
        for (double w = -8; w < 8; w += 0.002)
        {
            double p = 1 / (1 + Math.Exp(-w)), density = Math.Exp(-w * w / 2) * Math.Pow(p, hits) * Math.Pow(1 - p, misses);
            above += p * density;
            below += density;
        }

        return above / below;
    }

    private static double Normal(Random random) => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
