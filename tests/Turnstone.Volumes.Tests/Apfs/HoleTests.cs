using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>What a failing drive leaves: holes anywhere, in data and metadata alike.</summary>
public sealed class HoleTests
{
    private static readonly Dictionary<string, ManifestLine> Manifest = ApfsBench.Outside.Manifest.ToDictionary(l => l.Path);

    public static TheoryData<double, int> Shares()
    {
        var data = new TheoryData<double, int>();
        foreach (double share in (double[])[0.001, 0.003, 0.01, 0.03, 0.1, 0.3])
        {
            for (int seed = 1; seed <= 12; seed++)
                data.Add(share, seed);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Shares))]
    public void Nothing_is_claimed_that_the_manifest_does_not_bear_out(double share, int seed)
    {
        using ImageView image = ApfsBench.Outside.Open();
        HoledView view = Holed(image, share, seed);
        foreach (Entry entry in ApfsBench.Open(view).SelectMany(v => v.Entries()).Where(e => e.Certainty != Certainty.Guessed))
        {
            ManifestLine line = Assert.Contains(entry.Path.ToString(), Manifest);
            Assert.Equal(line.Deleted, entry.Deleted);
            if (entry.Digest(view) is { } digest)
                Assert.Equal(line.Sha256, digest);
        }
    }

    [Theory]
    [InlineData(0.01)]
    [InlineData(0.1)]
    [InlineData(0.3)]
    public void With_all_metadata_held_every_file_whose_data_is_held_is_whole(double share)
    {
        using ImageView image = ApfsBench.Outside.Open();
        List<ByteRange> skeleton = [.. ApfsBench.Single(image).Skeleton()];
        var view = new HoledView(ApfsBench.WrittenOnly(image), Holes(share, seed: 1).Where(h => !skeleton.Exists(s => Widened(h).Intersect(s).Length > 0)));
        HashSet<string> whole = Whole(view);
        Assert.All(ApfsBench.Outside.LiveFiles.Where(l => IsHeld(view, l)), l => Assert.Contains(l.Path, whole));
    }

    /// <summary>The way to a file goes through few blocks; losing any other one must not cost the file.</summary>
    [Fact]
    public void The_loss_of_one_block_of_metadata_costs_only_what_stands_in_it()
    {
        using ImageView image = ApfsBench.Outside.Open();
        HoledView written = ApfsBench.WrittenOnly(image);
        int files = ApfsBench.Outside.LiveFiles.Count();
        foreach (long block in LiveMetadata(image))
        {
            HashSet<string> whole = Whole(new HoledView(written, [new ByteRange(block * 4096, 4096)]));
            // The fullest leaf of this tree holds the records of some forty files.
            Assert.True(whole.Count >= files - 60, $"block {block}: {whole.Count} of {files}");
        }
    }

    [Fact]
    public void Entries_beyond_doubt_stay_so_when_the_first_block_is_lost()
    {
        using ImageView image = ApfsBench.Outside.Open();
        Volume volume = ApfsBench.Single(new HoledView(image, [new ByteRange(0, 512)]));
        Assert.Equal((Origin.Table, Certainty.Sure, "Turnstone apfs"), (volume.Facts.Origin, volume.Facts.Certainty, volume.Facts.Label));
        Assert.Equal(ApfsBench.Outside.Manifest.Count(l => !l.Deleted), volume.Entries().Count(e => e is { Deleted: false, Certainty: Certainty.Sure }));
    }

    [Fact]
    public void A_lost_object_map_is_made_up_for_by_searching()
    {
        using ImageView image = ApfsBench.Outside.Open();
        ContainerState state = ContainerState.Look(ApfsBench.ContainerOf(image));
        VolumeState volume = VolumeState.Look(state, state.Current.Superblock.VolumeOids[0]);
        var view = new HoledView(ApfsBench.WrittenOnly(image), volume.Map.Nodes.Select(n => state.Blocks.Place(n)));
        List<Entry> live = [.. ApfsBench.Single(view).Entries().Where(e => e is { Deleted: false, Kind: EntryKind.File })];
        Assert.Equal(ApfsBench.Outside.LiveFiles.Select(l => (l.Path, l.Sha256)).Order(), live.Where(e => e.Certainty == Certainty.Likely).Select(e => (e.Path.ToString(), e.Digest(view)!)).Order());
        Assert.All(live, e => Assert.Equal(Origin.Scan, e.Origin));
    }

    [Fact]
    public void A_view_that_fills_up_shows_more_to_the_same_volume()
    {
        using ImageView image = ApfsBench.Outside.Open();
        var growing = new GrowingView(image, [new ByteRange(0, 4096)]);
        Volume volume = ApfsBench.Single(growing);
        Assert.DoesNotContain(volume.Entries(), e => e.Certainty == Certainty.Sure);
        for (int round = 0; round < 10; round++)
            growing.Hold([.. volume.Skeleton()]);
        Assert.Equal(ApfsBench.Outside.Manifest.Count(l => !l.Deleted), volume.Entries().Count(e => e is { Deleted: false, Certainty: Certainty.Sure }));
        Assert.Equal("Turnstone apfs", volume.Facts.Label);
    }

    private static HashSet<string> Whole(ISectorView view) =>
        [.. ApfsBench.Open(view).SelectMany(v => v.Entries()).Where(e => e is { Deleted: false, Kind: EntryKind.File } && Manifest.TryGetValue(e.Path.ToString(), out ManifestLine? line) && line.Sha256 == e.Digest(view)).Select(e => e.Path.ToString())];

    private static bool IsHeld(HoledView view, ManifestLine line) => line.Extents.All(e => !view.Missing(new ByteRange(e.ImageOffset!.Value, e.Length)).Any());

    private static ByteRange Widened(ByteRange hole) => hole.Sectors(SectorSize.Small).Bytes(SectorSize.Small);

    private static List<long> LiveMetadata(ISectorView image)
    {
        ContainerState state = ContainerState.Look(ApfsBench.ContainerOf(image));
        VolumeState volume = VolumeState.Look(state, state.Current.Superblock.VolumeOids[0]);
        IEnumerable<ulong> nodes = volume.Map.Nodes.Concat(state.Map.Nodes).Concat(state.Map.Latest.Concat(volume.Map.Latest).Select(m => m.Address));
        return [.. nodes.Append(0ul).Append(state.Current.Address).Distinct().Select(a => (long)a)];
    }

    internal static HoledView Holed(ISectorView image, double share, int seed) => new(ApfsBench.WrittenOnly(image), Holes(share, seed));

    internal static HoledView Punched(ISectorView image, Random random) => new(image, Holes(random.NextDouble() / 5, random.Next()));

    private static List<ByteRange> Holes(double share, int seed)
    {
        var random = new Random(seed);
        long written = ApfsBench.Written.Sum(r => r.Length), lost = 0;
        var holes = new List<ByteRange>();
        while (lost < share * written)
        {
            long at = random.NextInt64(written / 512) * 512, length = 512L << random.Next(0, 9);
            foreach (ByteRange range in ApfsBench.Written)
            {
                if (at < range.Length)
                {
                    holes.Add(new ByteRange(range.Offset + at, length));
                    break;
                }

                at -= range.Length;
            }

            lost += length;
        }

        return holes;
    }
}
