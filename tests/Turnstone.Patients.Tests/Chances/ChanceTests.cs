using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Tests.Chances;

public sealed class ChanceTests
{
    // First five outputs of SplitMix64 for seed 1234567, as published with the generator's descriptions (from memory).
    [Fact]
    public void Mixing_a_counter_gives_the_published_numbers()
    {
        ulong state = 1234567;
        ulong[] drawn = [.. Enumerable.Range(0, 5).Select(_ => Chance.Mix(state += Chance.Golden))];
        Assert.Equal([6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821], drawn);
    }

    // Standard normal table, four digits (from memory): 0.8413, 0.9750, 0.9987, and 0.0013 below -3.
    [Theory]
    [InlineData(0, 0.5)]
    [InlineData(1, 0.8413)]
    [InlineData(1.96, 0.9750)]
    [InlineData(3, 0.9987)]
    [InlineData(-3, 0.0013)]
    public void The_normal_distribution_is_that_of_the_tables(double x, double below) => Assert.Equal(below, Normal.Below(x), 4);

    [Fact]
    public void Quantile_and_share_undo_each_other() =>
        Gen.Double[-6, 6].Sample(x => Math.Abs(Normal.Quantile(Normal.Below(x)) - x) < 1e-4);

    [Fact]
    public void Parts_draw_from_streams_of_their_own()
    {
        Assert.NotEqual(Chance.For(1, "arm").Next(), Chance.For(1, "command").Next());
        Assert.NotEqual(Chance.For(1, "arm").Next(), Chance.For(2, "arm").Next());
        Assert.Equal(Chance.For(1, "arm").Next(), Chance.For(1, "arm").Next());
    }

    [Fact]
    public void Drawn_numbers_have_the_means_of_their_distributions()
    {
        var chance = Chance.For(5, "means");
        double Mean(Func<double> draw) => Enumerable.Range(0, 100_000).Average(_ => draw());
        Assert.Equal(0, Mean(chance.Normal), 0.02);
        Assert.Equal(1, Mean(chance.Exponential), 0.02);
        Assert.Equal(4, Mean(() => chance.Geometric(0.25)), 0.06);
        Assert.Equal(4.5, Mean(() => chance.Below(10)), 0.05);
    }
}
