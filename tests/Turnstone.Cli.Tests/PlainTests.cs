using Turnstone.Cli.Display;
using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Cli.Tests;

public class PlainTests
{
    [Theory]
    [InlineData(0, "0 B")]
    [InlineData(1023, "1023 B")]
    [InlineData(1024, "1.00 KiB")]
    [InlineData(10_737_418_240, "10.0 GiB")]
    [InlineData(4_000_787_030_016, "3.64 TiB")]
    public void Bytes_keep_three_digits(long bytes, string text) => Assert.Equal(text, Plain.Bytes(bytes));

    [Theory]
    [InlineData(0, 10, "0 %")]
    [InlineData(10, 10, "100 %")]
    [InlineData(999_999_999, 1_000_000_000, "99.99 %")]
    [InlineData(1, 1_000_000_000, "0.01 %")]
    [InlineData(1, 2, "50.0 %")]
    public void A_share_never_rounds_to_all_or_nothing(long part, long whole, string text) => Assert.Equal(text, Plain.Share(part, whole));

    [Theory]
    [InlineData("90s", 90)]
    [InlineData("1.5h", 5400)]
    [InlineData("2d", 172_800)]
    public void Times_are_read_as_they_are_written(string text, double seconds) => Assert.Equal(TimeSpan.FromSeconds(seconds), Duration.Parse(text));

    [Fact]
    public void One_bad_sector_in_a_terabyte_is_seen_in_the_lane()
    {
        var map = new ReadMap(new SectorCount(2_000_000_000));
        map.Set(map.Whole, MapMark.Held);
        map.Set(SectorRange.Between(1_000_000_000, 1_000_000_001), MapMark.Refused(RefusalCause.Medium, 3));
        string lane = Lane.Draw(map, 10);
        Assert.Equal(1, lane.Split("[#CC79A7]x[/]").Length - 1);
        Assert.Equal(9, lane.Split('█').Length - 1);
    }
}
