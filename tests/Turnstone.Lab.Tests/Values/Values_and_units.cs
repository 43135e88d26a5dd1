using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Values;

public class Values_and_units
{
    [Theory]
    [InlineData(-0.01)]
    [InlineData(1.01)]
    [InlineData(double.NaN)]
    public void A_probability_outside_zero_to_one_is_refused(double value) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new Probability(value));

    [Fact]
    public void A_probability_is_never_shown_as_a_certainty_it_is_not() =>
        Assert.Equal([">0.99", "<0.01", "1", "0", "0.93"], new[] { 0.9999, 0.0001, 1, 0, 0.93 }.Select(p => new Probability(p).ToString()));

    [Fact]
    public void Two_currencies_never_add_up() =>
        Assert.Throws<ArgumentException>(() => new Money(1, new Currency("EUR")) + new Money(1, new Currency("CHF")));

    [Theory]
    [InlineData("120", "names no currency")]
    [InlineData("120 eur", "names no currency")]
    [InlineData("1,200.00 EUR", "is no amount")]
    [InlineData(null, "names no currency")]
    public void An_amount_that_is_not_one_is_explained(string? text, string says) =>
        Assert.Contains(says, Money.TryRead(text, out _));

    [Fact]
    public void An_amount_reads_back_as_written() =>
        Gen.Int[-1_000_000, 1_000_000].Sample(cents => Money.TryRead(new Money(cents / 100m, new Currency("EUR")).ToString(), out Money back) is null && back.Amount == cents / 100m);

    [Theory]
    [InlineData("0.45 m/s", 0.45)]
    [InlineData("0.45m/s", 0.45)]
    [InlineData("100 ft/min", 0.508)] // 1 ft = 0.3048 m exactly (international yard and pound agreement, 1959).
    [InlineData("4.5e2 mm/s", 0.45)]
    public void A_speed_is_read_with_its_unit(string text, double expected)
    {
        Assert.Null(Quantity.TryRead(text, out Speed speed));
        Assert.Equal(expected, speed.MetresPerSecond, 1e-12);
    }

    [Theory]
    [InlineData("0.45", "has no unit")]
    [InlineData("0.45 L", "is no unit of a speed; known are m/s")]
    [InlineData("-0.45 m/s", "is impossible")]
    [InlineData("1e999 m/s", "is impossible")]
    [InlineData("fast", "is not a speed")]
    [InlineData("", "is not a speed")]
    public void A_speed_that_is_none_is_explained(string text, string says) => Assert.Contains(says, Quantity.TryRead(text, out Speed _));

    [Fact]
    public void Both_micro_signs_are_micrometres()
    {
        Assert.Null(Quantity.TryRead("0.5 \u03BCm", out Length greek));
        Assert.Null(Quantity.TryRead("0.5 \u00B5m", out Length micro));
        Assert.Equal(greek, micro);
    }

    [Fact]
    public void Any_text_gets_an_answer_from_every_reader() => Gen.String.Sample(text =>
        (Quantity.TryRead(text, out Length _) is null or { Length: > 0 }) && (Durations.TryRead(text, out _) is null or { Length: > 0 }) && (Money.TryRead(text, out _) is null or { Length: > 0 }));

    [Theory]
    [InlineData("90 min", 90)]
    [InlineData("1.5 h", 90)]
    [InlineData("180 d", 259200)]
    public void A_length_of_time_is_read_with_its_unit(string text, double minutes)
    {
        Assert.Null(Durations.TryRead(text, out TimeSpan time));
        Assert.Equal(minutes, time.TotalMinutes);
    }

    [Fact]
    public void A_length_of_time_without_a_unit_is_explained() => Assert.Contains("no unit of time", Durations.TryRead("90", out _));
}
