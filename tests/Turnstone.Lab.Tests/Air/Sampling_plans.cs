using Turnstone.Lab.Air;
using Turnstone.Lab.Values;
using static Turnstone.Lab.Tests.Air.Air_classes;

namespace Turnstone.Lab.Tests.Air;

public class Sampling_plans
{
    private static readonly Flow CubicFootAMinute = new(0.028316846592 / 60);

    [Theory]
    [InlineData(0.72, 1)]
    [InlineData(24.0, 6)]
    [InlineData(24.1, 7)]
    [InlineData(36, 9)]
    [InlineData(36.1, 10)]
    [InlineData(1000, 27)]
    [InlineData(1001, 28)]
    [InlineData(1500, 41)]
    public void Places_by_area(double area, int places) => Assert.Equal(places, SamplingPlan.PlacesIn(Table, new Area(area), Edition.Iso2015));

    [Theory]
    [InlineData(24, 5)]
    [InlineData(4, 2)]
    [InlineData(4.1, 3)]
    public void The_1999_rule_is_the_square_root(double area, int places) => Assert.Equal(places, SamplingPlan.PlacesIn(Table, new Area(area), Edition.Iso1999));

    [Fact]
    public void The_table_of_places_is_what_sampling_without_replacement_asks_for()
    {
        // Cells of 4 m², at most 10 % of them bad, 95 % confidence: hypergeometric, the basis given by Hartvig et al., Journal of the IEST 54(1), 2011.
        foreach (LocationRow row in Table.Locations.Where(r => r.UpTo.SquareMetres is >= 24 and <= 636))
            Assert.Equal(FewestCells((int)(row.UpTo.SquareMetres / 4)), row.Count);
    }

    [Theory]
    // Volumes: 20 / limit × 1000 L, computed by a second program; 19.6 L for class 4 at 0.3 µm stands in public engineering notes.
    [InlineData("4", 0.3, 19.61)]
    [InlineData("5", 0.5, 5.68)]
    [InlineData("5", 1, 24.04)]
    [InlineData("3", 0.5, 571.43)]
    [InlineData("6", 5, 68.26)]
    [InlineData("8", 5, 2)]
    [InlineData("7", 0.5, 2)]
    public void Least_volume(string isoClass, double size, double litres) => Assert.Equal(litres, Made(isoClass, size).Volume.Litres, 0.005);

    [Fact]
    public void The_largest_size_sets_the_volume() => Assert.Equal(68.26, Made("6", 5, 0.5).Volume.Litres, 0.005);

    [Fact]
    public void A_counter_of_a_cubic_foot_a_minute_needs_one_minute_and_a_tenth_of_it_eight_and_a_half()
    {
        Assert.Equal(1, Made("5", 1).Time.TotalMinutes);
        Assert.Null(SamplingPlan.TryMake(Table, new Area(0.72), Class("5"), [Size(1)], new Flow(CubicFootAMinute.CubicMetresPerSecond / 10), Edition.Iso2015, out SamplingPlan? plan));
        Assert.Equal(8.5, plan!.Time.TotalMinutes, 0.02);
    }

    [Theory]
    [InlineData("5", "there", new double[] { 5 })]
    [InlineData("7", "there", new double[] { 0.3 })]
    [InlineData("5", "1.5 times", new double[] { 0.5, 0.7 })]
    [InlineData("5", "no particle size", new double[0])]
    public void A_claim_that_cannot_be_made_is_explained(string isoClass, string says, double[] sizes) =>
        Assert.Contains(says, SamplingPlan.TryMake(Table, new Area(0.72), Class(isoClass), [.. sizes.Select(Size)], CubicFootAMinute, Edition.Iso2015, out _));

    private static SamplingPlan Made(string isoClass, params double[] sizes)
    {
        Assert.Null(SamplingPlan.TryMake(Table, new Area(0.72), Class(isoClass), [.. sizes.Select(Size)], CubicFootAMinute, Edition.Iso2015, out SamplingPlan? plan));
        return plan!;
    }

    private static int FewestCells(int cells)
    {
        int bad = (int)Math.Floor(cells * 0.1) + 1;
        double allGood = 1;
        for (int drawn = 0; ; drawn++)
        {
            if (allGood <= 0.05)
                return drawn;
            allGood *= (double)(cells - bad - drawn) / (cells - drawn);
        }
    }
}
