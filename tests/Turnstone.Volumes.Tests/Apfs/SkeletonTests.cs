using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Apfs;

public sealed class SkeletonTests
{
    [Theory]
    [InlineData("plain")]
    [InlineData("features")]
    public void With_the_skeleton_alone_the_whole_list_of_live_files_comes_out(string name)
    {
        using ImageView image = ApfsBench.Named(name).Outside.Open();
        HoledView view = HoledView.Only(image, ApfsBench.Single(image).Skeleton());
        Assert.Equal(Facts(ApfsBench.Single(image)), Facts(ApfsBench.Single(view)));
    }

    [Fact]
    public void The_skeleton_is_a_small_share_of_what_was_written()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        long skeleton = ApfsBench.Single(image).Skeleton().Sum(r => r.Length);
        TestContext.Current.TestOutputHelper?.WriteLine($"{skeleton} of {image.Length} bytes");
        Assert.InRange(skeleton, 1, 1 << 20);
    }

    /// <summary>The driver that wrote the volume counts its free blocks itself: 517,306 of 524,288 (newest space manager, offset 72, read by hand).</summary>
    [Fact]
    public void What_is_in_use_agrees_with_the_driver_that_wrote_it()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        List<UsageRun> runs = [.. ApfsBench.Single(image).Usage()];
        Assert.Equal(517_306 * 4096L, runs.Where(r => r.Usage == Usage.Free).Sum(r => r.Place.Length));
        Assert.Equal(image.Length, runs.Sum(r => r.Place.Length));
        Assert.Equal(runs.OrderBy(r => r.Place.Offset), runs);
        foreach ((long _, long? at, long length) in ApfsBench.Plain.Outside.LiveFiles.SelectMany(l => l.Extents))
            Assert.Contains(runs, r => r.Usage == Usage.Used && r.Place.Contains(new ByteRange(at!.Value, length)));
    }

    private static IEnumerable<(string, EntryKind, long?, Certainty)> Facts(Volume volume) =>
        volume.Entries().Where(e => !e.Deleted).Select(e => (e.Path.ToString(), e.Kind, e.Size, e.Certainty)).Order();
}
