using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>With nothing held but what the skeleton asks for, the whole list comes out.</summary>
[Trait("kind", "privileged")]
public sealed class ExtSkeletonTests
{
    public static TheoryData<string> All => ExtFixture.All;

    [Theory]
    [MemberData(nameof(All))]
    public void The_skeleton_alone_gives_the_full_list(string variant)
    {
        using ImageView disk = ExtFixture.Get(variant).Open();
        HoledView skeleton = ManifestChecks.SkeletonOnly(disk);
        static IEnumerable<string> Listed(ISectorView view) => Disk.Read(view).Volumes[0].Entries()
            .Select(e => $"{e.Path} {e.Kind} {e.Size} {e.Deleted} {e.Certainty} {string.Join(' ', e.Content?.Extents ?? [])}");
        long held = disk.Length - skeleton.Missing(new ByteRange(0, disk.Length)).Sum(hole => hole.Length);
        TestContext.Current.TestOutputHelper?.WriteLine($"{variant}: skeleton {held} of {disk.Length} bytes");
        Assert.Equal(Listed(disk), Listed(skeleton));
        Assert.True(held < disk.Length / 4, $"the skeleton takes {held} of {disk.Length} bytes");
    }

    [Fact]
    public void The_journal_comes_last()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        ByteRange[] places = [.. ExtFixture.Open(disk).Skeleton()];
        Assert.Equal(new ByteRange(1024, 1024), places[0]);
        Assert.Equal(places.Max(place => place.Length), places[^1].Length);
    }
}
