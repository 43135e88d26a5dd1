using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>With nothing held but what the volume asks for first, the whole list of files comes out.</summary>
public class Skeletons
{
    [Theory]
    [InlineData("hfsplus", 0.024)]
    [InlineData("hfsx", 0.024)]
    [InlineData("hfslinks", 0.058)]
    public void The_whole_list_comes_from_the_skeleton_alone(string name, double shareMax)
    {
        ISectorView disk = Prebuilt.View(name);
        HoledView bones = Grow(disk, [new ByteRange(1024, 512)], out long held);

        Assert.Equal(Listing(disk), Listing(bones));
        Assert.InRange((double)held / disk.Length, 0, shareMax);
    }

    [Theory]
    [InlineData("hfsplus")]
    [InlineData("hfslinks")]
    public void The_copy_of_the_header_leads_to_the_same_skeleton(string name)
    {
        ISectorView disk = Prebuilt.View(name);
        HoledView bones = Grow(new HoledView(disk, [new ByteRange(1024, 512)]), [new ByteRange(disk.Length - 1024, 512)], out _);

        Assert.Equal(Listing(disk), Listing(bones));
        Assert.All(Prebuilt.Open(bones)!.Entries(), e => Assert.True(e is { Certainty: not Certainty.Sure, Origin: not Origin.Table }));
    }

    /// <summary>Reads what is asked for until nothing new is asked for, as a read plan would.</summary>
    private static HoledView Grow(ISectorView disk, ByteRange[] first, out long held)
    {
        ByteRange[] asked = first;
        held = 0;
        while (true)
        {
            HoledView view = HoledView.Only(disk, asked);
            long now = disk.Length - view.Missing(new ByteRange(0, disk.Length)).Sum(m => m.Length);
            if (now == held)
                return view;
            held = now;
            asked = [.. first, .. Prebuilt.Open(view)!.Skeleton()];
        }
    }

    private static string[] Listing(ISectorView disk) =>
        [.. Prebuilt.Open(disk)!.Entries().Select(e => $"{Prebuilt.PathOf(e)} {e.Kind} {(e.Attributes.HasFlag(EntryAttributes.Compressed) ? null : e.Size)} {e.Deleted} {e.Times.Modified}").Order(StringComparer.Ordinal)];
}
