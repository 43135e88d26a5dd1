using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests.Layouts;

public sealed class LayoutTests
{
    [Fact]
    public void Every_sector_has_one_place_and_every_place_its_sector() =>
        Gen.Select(Drawn.Drive, Gen.ULong).Sample((drive, seed) =>
        {
            Layout layout = LayoutBuilder.Build(drive, seed);
            var seen = new HashSet<(int, int, int)>();
            for (long sector = 0; sector < layout.Capacity; sector++)
            {
                Place place = layout.Locate(sector);
                Assert.True(seen.Add((place.Head, place.Track, place.Sector)));
                Assert.Equal(sector, layout.Find(place));
                Assert.InRange(place.Angle, 0, 1);
            }

            long all = layout.Segments.Sum(s => (long)s.Tracks * s.SectorsPerTrack);
            Assert.Equal(all, seen.Count);
        }, iter: 200);

    [Fact]
    public void Every_track_of_every_surface_is_laid_out_once() =>
        Drawn.Drive.Sample(drive =>
        {
            Layout layout = LayoutBuilder.Build(drive, 7);
            for (int head = 0; head < layout.Surfaces; head++)
            {
                int[] tracks = [.. layout.Segments.Where(s => s.Head == head).SelectMany(s => Enumerable.Range(s.FirstTrack, s.Tracks)).Order()];
                Assert.Equal(Enumerable.Range(0, layout.TracksOn(head)), tracks);
            }
        });

    [Fact]
    public void A_sector_outside_the_drive_is_a_misuse()
    {
        Layout layout = LayoutBuilder.Build(Drawn.Tiny().Drive, 1);
        Assert.Throws<ArgumentOutOfRangeException>(() => layout.Locate(layout.Capacity));
        Assert.Throws<ArgumentOutOfRangeException>(() => layout.Locate(-1));
        Assert.Throws<ArgumentOutOfRangeException>(() => layout.Find(new Place(2, 0, 0, 0)));
    }

    // DiskSim 4 disk model manual, layout_g1: mapping 0 is cylinder after cylinder with the heads in order, mapping 1
    // turns the order round on every other cylinder. Worked by hand for 3 heads, 2 sectors a track, 3 cylinders.
    [Theory]
    [InlineData(BandOrder.Cyclic, "0:0 1:0 2:0 0:1 1:1 2:1 0:2 1:2 2:2")]
    [InlineData(BandOrder.Reversing, "0:0 1:0 2:0 2:1 1:1 0:1 0:2 1:2 2:2")]
    public void Cylinder_orders_are_those_of_the_disk_model_manual(BandOrder order, string headAndTrack)
    {
        Layout layout = LayoutBuilder.Build(new DriveSpec { Surfaces = 3, Zones = [new ZoneSpec(3, 2, 1)], Order = order }, 1);
        IEnumerable<string> walked = Enumerable.Range(0, 9).Select(t => layout.Locate(t * 2)).Select(p => $"{p.Head}:{p.Track}");
        Assert.Equal(headAndTrack, string.Join(' ', walked));
    }

    // Same manual: mapping 1 starts anew in each zone, mapping 2 does not. Two zones of one cylinder each show it.
    [Theory]
    [InlineData(BandOrder.Reversing, "0 1 0 1")]
    [InlineData(BandOrder.ReversingThroughout, "0 1 1 0")]
    public void A_turning_order_restarts_in_each_zone_or_not(BandOrder order, string heads)
    {
        Layout layout = LayoutBuilder.Build(new DriveSpec { Surfaces = 2, Zones = [new ZoneSpec(1, 4, 1), new ZoneSpec(1, 3, 1)], Order = order }, 1);
        Assert.Equal(heads, string.Join(' ', layout.Segments.Select(s => s.Head)));
    }

    [Fact]
    public void A_surface_serpentine_reads_a_zone_of_one_surface_and_comes_back_on_the_next()
    {
        var drive = new DriveSpec { Surfaces = 2, Zones = [new ZoneSpec(5, 4, 5)], Direction = SweepDirection.Alternating };
        Layout layout = LayoutBuilder.Build(drive, 1);
        Assert.Equal([0, 1, 2, 3, 4, 4, 3, 2, 1, 0], Enumerable.Range(0, 10).Select(t => layout.Locate(t * 4).Track));
    }

    [Fact]
    public void Heads_differ_in_density_and_the_drive_keeps_its_capacity()
    {
        Layout layout = LayoutBuilder.Build(Presets.Portable.Drive, 5);
        Assert.Equal(10, layout.Density.Distinct().Count());
        Assert.All(layout.Density, q => Assert.InRange(q, -0.2, 0.2));
        Assert.Equal((7_814_037_168 + 7) / 8, layout.Capacity);
    }
}
