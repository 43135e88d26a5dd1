using Turnstone.Lab.Air;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Air;

/// <summary>Check values: ISO 14644-1:2015 Table 1, as quoted in public summaries of the standard; the 1999 cells as reproduced in public summaries of that edition.</summary>
public class Air_classes
{
    internal static readonly AirTable Table = AirTable.Read(TableShelf.Shipped).Item();
    private static readonly double[] Sizes = [0.1, 0.2, 0.3, 0.5, 1, 5];

    [Theory]
    [InlineData(1, new double[] { 10, 0, 0, 0, 0, 0 })]
    [InlineData(2, new double[] { 100, 24, 10, 0, 0, 0 })]
    [InlineData(3, new double[] { 1000, 237, 102, 35, 0, 0 })]
    [InlineData(4, new double[] { 10_000, 2370, 1020, 352, 83, 0 })]
    [InlineData(5, new double[] { 100_000, 23_700, 10_200, 3520, 832, 0 })]
    [InlineData(6, new double[] { 1_000_000, 237_000, 102_000, 35_200, 8320, 293 })]
    [InlineData(7, new double[] { 0, 0, 0, 352_000, 83_200, 2930 })]
    [InlineData(8, new double[] { 0, 0, 0, 3_520_000, 832_000, 29_300 })]
    [InlineData(9, new double[] { 0, 0, 0, 35_200_000, 8_320_000, 293_000 })]
    public void The_table_is_reproduced_and_the_formula_reproduces_the_table(int number, double[] cells)
    {
        IsoClass isoClass = Class($"{number}");
        for (int i = 0; i < Sizes.Length; i++)
        {
            Assert.Equal(cells[i] == 0 ? null : cells[i], isoClass.Limit(Table, Size(Sizes[i]))?.PerCubicMetre);
            if (cells[i] != 0)
                Assert.Equal(cells[i], isoClass.Formula(Size(Sizes[i])));
        }
    }

    [Theory]
    // Computed from the formula by a second program; blank cells follow Table E.1 (from memory).
    [InlineData("4.5", new double[] { 31_600, 7480, 3220, 1110, 263, 0 })]
    [InlineData("5.5", new double[] { 316_000, 74_800, 32_200, 11_100, 2630, 0 })]
    [InlineData("6.5", new double[] { 3_160_000, 748_000, 322_000, 111_000, 26_300, 925 })]
    [InlineData("7.5", new double[] { 0, 0, 0, 1_110_000, 263_000, 9250 })]
    [InlineData("8.5", new double[] { 0, 0, 0, 11_100_000, 2_630_000, 92_500 })]
    public void Classes_between_follow_the_formula(string number, double[] cells) =>
        Assert.Equal(cells.Select(c => c == 0 ? (double?)null : c), Sizes.Select(s => Class(number).Limit(Table, Size(s))?.PerCubicMetre));

    [Theory]
    [InlineData("4.8", 2220)]
    [InlineData("5.1", 4430)]
    [InlineData("5.2", 5570)]
    [InlineData("5.3", 7020)]
    [InlineData("5.7", 17_600)]
    public void Steps_of_a_tenth_at_half_a_micrometre(string number, double limit) => Assert.Equal(limit, Class(number).Limit(Table, Size(0.5))!.Value.PerCubicMetre);

    [Theory]
    [InlineData(1, 0.2, 2)]
    [InlineData(2, 0.5, 4)]
    [InlineData(3, 1, 8)]
    [InlineData(5, 5, 29)]
    public void The_cells_that_2015_took_out_are_still_there_for_old_certificates(int number, double size, double limit)
    {
        Assert.Null(Class($"{number}").Limit(Table, Size(size)));
        Assert.Equal(limit, Class($"{number}").Limit(Table, Size(size), Edition.Iso1999)!.Value.PerCubicMetre);
    }

    [Theory]
    [InlineData(5000, 0.5, 5.1528)]
    [InlineData(20, 5, 4.8349)]
    public void A_concentration_has_a_class_number(double concentration, double size, double number) =>
        Assert.Equal(number, IsoClass.NumberOf(new Concentration(concentration), Size(size)), 1e-4);

    [Fact]
    public void An_average_just_under_the_tables_limit_passes_although_the_raw_formula_says_3516_76() =>
        Assert.True(3519 <= Class("5").Limit(Table, Size(0.5))!.Value.PerCubicMetre);

    [Theory]
    [InlineData("0.5")]
    [InlineData("9.1")]
    [InlineData("5.25")]
    [InlineData("five")]
    [InlineData("-5")]
    public void A_class_that_is_none_is_explained(string text) => Assert.Contains("is no ISO class", IsoClass.TryRead(text, out _));

    [Fact]
    public void An_edited_limit_below_zero_is_refused_with_its_line()
    {
        TableShelf shelf = Answered.Edited("air.json", "[100000, 23700, 10200, 3520, 832, null]", "[100000, 23700, 10200, -3520, 832, null]");
        Assert.Equal(Answered.LineOf(shelf, "air.json", "-3520"), AirTable.Read(shelf).Fault().Line);
    }

    internal static IsoClass Class(string text)
    {
        Assert.Null(IsoClass.TryRead(text, out IsoClass isoClass));
        return isoClass;
    }

    internal static Length Size(double micrometres) => Length.FromMicrometres(micrometres);
}
