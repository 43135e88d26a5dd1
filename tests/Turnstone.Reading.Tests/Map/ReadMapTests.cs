using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Tests.Map;

public class ReadMapTests
{
    private const int Sectors = 400;

    internal static readonly Gen<MapMark> Marks = Gen.Select(Gen.Enum<SectorState>(), Gen.Int[0, 3], (state, n) => state switch
    {
        SectorState.Refused => MapMark.Refused(n == 0 ? RefusalCause.Medium : RefusalCause.Silence, n),
        SectorState.PassedOver => MapMark.PassedOver(n == 0 ? null : RefusalCause.Unspecified),
        SectorState.Held => MapMark.Held,
        SectorState.Withheld => new MapMark(SectorState.Withheld),
        SectorState.Unasked => MapMark.Unasked,
    });

    internal static readonly Gen<(SectorRange Range, MapMark Mark)[]> Changes = Gen.Select(
        Gen.Int[0, Sectors], Gen.Int[0, 40], Marks, (at, count, mark) => (SectorRange.Between(at, Math.Min(at + count, Sectors)), mark)).Array[0, 300];

    [Fact]
    public void The_map_says_what_a_plain_list_of_all_sectors_would_say() => Changes.Sample(changes =>
    {
        var map = new ReadMap(new SectorCount(Sectors));
        var plain = new MapMark[Sectors];
        foreach ((SectorRange range, MapMark mark) in changes)
        {
            map.Set(range, mark);
            Array.Fill(plain, mark, (int)range.Start.Value, (int)range.Count.Value);
        }

        for (int i = 0; i < Sectors; i++)
            Assert.Equal(plain[i], map[new Lba(i)]);
        foreach (SectorState state in Enum.GetValues<SectorState>())
            Assert.Equal(plain.Count(mark => mark.State == state), map.Total(state).Value);
    });

    [Fact]
    public void Runs_cover_every_sector_once_and_neighbours_differ() => Changes.Sample(changes =>
    {
        var map = new ReadMap(new SectorCount(Sectors));
        foreach ((SectorRange range, MapMark mark) in changes)
            map.Set(range, mark);
        MapRun[] runs = [.. map.Runs()];
        Assert.Equal(map.RunCount, runs.Length);
        Assert.Equal(map.Whole.Start, runs[0].Range.Start);
        Assert.Equal(map.Whole.End, runs[^1].Range.End);
        for (int i = 1; i < runs.Length; i++)
        {
            Assert.Equal(runs[i - 1].Range.End, runs[i].Range.Start);
            Assert.NotEqual(runs[i - 1].Mark, runs[i].Mark);
        }
    });

    [Fact]
    public void A_million_runs_in_random_order_stay_small_and_right()
    {
        const int count = 1_000_000;
        var map = new ReadMap(new SectorCount(2L * count));
        int[] order = [.. Enumerable.Range(0, count)];
        new Random(7).Shuffle(order);
        foreach (int i in order)
            map.Set(SectorRange.Between(2L * i, (2L * i) + 1), MapMark.Held);
        Assert.Equal(2 * count, map.RunCount);
        Assert.Equal(count, map.Total(SectorState.Held).Value);
        Assert.Equal(SectorState.Held, map[new Lba(777_776)].State);
        Assert.Equal(SectorState.Unasked, map[new Lba(777_777)].State);
        map.Set(map.Whole, MapMark.Held);
        Assert.Equal(1, map.RunCount);
    }

    [Fact]
    public void A_range_past_the_end_is_turned_away()
    {
        var map = new ReadMap(new SectorCount(10));
        Assert.Throws<ArgumentOutOfRangeException>(() => map.Set(SectorRange.Between(5, 11), MapMark.Held));
        Assert.Throws<ArgumentOutOfRangeException>(() => map[new Lba(10)]);
    }
}
