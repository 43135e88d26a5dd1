using Turnstone.Media;

namespace Turnstone.Media.Tests.Values;

public class RangeTests
{
    private static readonly Gen<SectorRange> Sectors = Gen.Select(Gen.Long[0, 1000], Gen.Long[0, 200], (start, count) => new SectorRange(new Lba(start), new SectorCount(count)));

    [Fact]
    public void What_two_ranges_share_are_the_sectors_in_both() => Gen.Select(Sectors, Sectors).Sample((left, right) =>
    {
        SectorRange both = left.Intersect(right);
        for (long at = 0; at < 1250; at++)
            Assert.Equal(left.Contains(new Lba(at)) && right.Contains(new Lba(at)), both.Contains(new Lba(at)));
    });

    [Fact]
    public void Bytes_and_back_give_the_same_sectors() => Gen.Select(Sectors, Gen.Bool).Sample((range, large) =>
    {
        var size = new SectorSize(large ? 4096 : 512);
        Assert.Equal(range, range.Bytes(size).Sectors(size));
    });

    [Fact]
    public void Any_bytes_lie_in_the_sectors_they_touch() => Gen.Select(Gen.Long[0, 100_000], Gen.Long[1, 9000]).Sample((offset, length) =>
    {
        var bytes = new ByteRange(offset, length);
        SectorRange sectors = bytes.Sectors(SectorSize.Small);
        Assert.True(sectors.Bytes(SectorSize.Small).Contains(bytes));
        Assert.True(sectors.Count.Value <= ((length + 511) / 512) + 1);
    });

    [Fact]
    public void Widening_takes_whole_physical_sectors_and_stays_on_the_drive() => Sectors.Sample(range =>
    {
        var geometry = new Geometry(new SectorSize(512), new SectorSize(4096), new SectorCount(1203));
        SectorRange wide = geometry.Widen(range);
        Assert.True(wide.Start.Value % 8 == 0 && (wide.End.Value % 8 == 0 || wide.End.Value == 1203));
        Assert.True(wide.Start <= range.Start && range.End <= wide.End);
        Assert.True(wide.Count.Value < range.Count.Value + 16);
    });

    [Fact]
    public void Numbers_that_make_no_range_are_turned_away()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new SectorRange(new Lba(-1), new SectorCount(1)));
        Assert.Throws<ArgumentOutOfRangeException>(() => new SectorRange(new Lba(1), new SectorCount(-1)));
        Assert.Throws<ArgumentOutOfRangeException>(() => new ByteRange(long.MaxValue, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new SectorSize(520));
        Assert.Throws<OverflowException>(() => new Lba(long.MaxValue).ByteOffset(SectorSize.Small));
    }
}
