using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>What a failing drive leaves: holes anywhere, in data and metadata alike.</summary>
public sealed class HoleTests
{
    public static TheoryData<string, double, int> Shares()
    {
        var data = new TheoryData<string, double, int>();
        foreach (double share in (double[])[0.001, 0.003, 0.01, 0.03, 0.1, 0.3])
        {
            for (int seed = 1; seed <= 8; seed++)
                data.Add(seed % 4 == 0 ? "features" : "plain", share, seed);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Shares))]
    public void Nothing_is_claimed_that_the_manifest_does_not_bear_out(string name, double share, int seed)
    {
        RealVolume real = ApfsBench.Named(name);
        using ImageView image = real.Outside.Open();
        HoledView view = Holed(real, image, share, seed);
        Assert.Empty(FalseClaims(real, view, ApfsBench.Open(view).SelectMany(v => v.Entries())));
    }

    [Fact]
    public void A_false_claim_is_noticed()
    {
        RealVolume real = ApfsBench.Plain;
        using ImageView image = real.Outside.Open();
        Entry sound = ApfsBench.Single(image).Entries().First(e => e is { Kind: EntryKind.File, Size: > 4096, Deleted: false });
        Entry[] lies =
        [
            sound with { Path = EntryPath.Root["never written"] },
            sound with { Content = new StoredContent([Extent.At(0, sound.Size!.Value)]) },
            sound with { Deleted = true },
        ];
        Assert.All(lies, lie => Assert.Single(FalseClaims(real, image, [lie])));
        Assert.Empty(FalseClaims(real, image, [sound, .. lies.Select(lie => lie with { Certainty = Certainty.Guessed })]));
    }

    [Theory]
    [InlineData("plain", 0.01)]
    [InlineData("plain", 0.1)]
    [InlineData("plain", 0.3)]
    [InlineData("features", 0.1)]
    public void With_all_metadata_held_every_file_whose_data_is_held_is_whole(string name, double share)
    {
        RealVolume real = ApfsBench.Named(name);
        using ImageView image = real.Outside.Open();
        List<ByteRange> skeleton = [.. ApfsBench.Single(image).Skeleton()];
        var view = new HoledView(real.WrittenOnly(image), Holes(real.Written, share, seed: 1).Where(h => !skeleton.Exists(s => Widened(h).Intersect(s).Length > 0)));
        HashSet<string> whole = Whole(real, view);
        Assert.All(real.Outside.LiveFiles.Where(l => IsHeld(view, l)), l => Assert.Contains(l.Path, whole));
    }

    /// <summary>The way to a file goes through few blocks; losing any other one must not cost the file.</summary>
    [Fact]
    public void The_loss_of_one_block_of_metadata_costs_only_what_stands_in_it()
    {
        RealVolume real = ApfsBench.Plain;
        using ImageView image = real.Outside.Open();
        HoledView written = real.WrittenOnly(image);
        int files = ApfsBench.Plain.Outside.LiveFiles.Count();
        foreach (long block in LiveMetadata(image))
        {
            HashSet<string> whole = Whole(real, new HoledView(written, [new ByteRange(block * 4096, 4096)]));
            // The fullest leaf of this tree holds the records of some forty files.
            Assert.True(whole.Count >= files - 60, $"block {block}: {whole.Count} of {files}");
        }
    }

    [Fact]
    public void Entries_beyond_doubt_stay_so_when_the_first_block_is_lost()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        Volume volume = ApfsBench.Single(new HoledView(image, [new ByteRange(0, 512)]));
        Assert.Equal((Origin.Table, Certainty.Sure, ApfsBench.Plain.Label), (volume.Facts.Origin, volume.Facts.Certainty, volume.Facts.Label));
        Assert.Equal(ApfsBench.Plain.Outside.Manifest.Count(l => !l.Deleted), volume.Entries().Count(e => e is { Deleted: false, Certainty: Certainty.Sure }));
    }

    [Fact]
    public void A_lost_object_map_is_made_up_for_by_searching()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        ContainerState state = ContainerState.Look(ApfsBench.ContainerOf(image));
        VolumeState volume = VolumeState.Look(state, state.Current.Superblock.VolumeOids[0]);
        var view = new HoledView(ApfsBench.Plain.WrittenOnly(image), volume.Map.Nodes.Select(n => state.Blocks.Place(n)));
        List<Entry> live = [.. ApfsBench.Single(view).Entries().Where(e => e is { Deleted: false, Kind: EntryKind.File })];
        Assert.Equal(ApfsBench.Plain.Outside.LiveFiles.Select(l => (l.Path, l.Sha256)).Order(), live.Where(e => e.Certainty == Certainty.Likely).Select(e => (e.Path.ToString(), e.Digest(view)!)).Order());
        Assert.All(live, e => Assert.Equal(Origin.Scan, e.Origin));
    }

    [Fact]
    public void A_view_that_fills_up_shows_more_to_the_same_volume()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        var growing = new GrowingView(image, [new ByteRange(0, 4096)]);
        Volume volume = ApfsBench.Single(growing);
        Assert.DoesNotContain(volume.Entries(), e => e.Certainty == Certainty.Sure);
        for (int round = 0; round < 10; round++)
            growing.Hold([.. volume.Skeleton()]);
        Assert.Equal(ApfsBench.Plain.Outside.Manifest.Count(l => !l.Deleted), volume.Entries().Count(e => e is { Deleted: false, Certainty: Certainty.Sure }));
        Assert.Equal(ApfsBench.Plain.Label, volume.Facts.Label);
    }

    /// <summary>What is said with more than a guess and is not so.</summary>
    private static IEnumerable<string> FalseClaims(RealVolume real, ISectorView view, IEnumerable<Entry> entries)
    {
        Dictionary<string, ManifestLine> lines = real.Lines;
        foreach (Entry entry in entries.Where(e => e.Certainty != Certainty.Guessed))
        {
            if (!lines.TryGetValue(entry.Path.ToString(), out ManifestLine? line) || line.Deleted != entry.Deleted)
                yield return $"{entry.Path} (deleted: {entry.Deleted})";
            else if (entry.Digest(view) is { } digest && digest != line.Sha256)
                yield return $"{entry.Path}: other bytes";
        }
    }

    private static HashSet<string> Whole(RealVolume real, HoledView view)
    {
        Dictionary<string, ManifestLine> lines = real.Lines;
        return [.. ApfsBench.Open(view).SelectMany(v => v.Entries())
            .Where(e => e is { Deleted: false, Kind: EntryKind.File } && lines.TryGetValue(e.Path.ToString(), out ManifestLine? line) && line.Sha256 == e.Digest(view))
            .Select(e => e.Path.ToString())];
    }

    private static bool IsHeld(HoledView view, ManifestLine line) => line.Extents.All(e => !(e.ImageOffset is { } at && view.Missing(new ByteRange(at, e.Length)).Any()));

    private static ByteRange Widened(ByteRange hole) => hole.Sectors(SectorSize.Small).Bytes(SectorSize.Small);

    private static List<long> LiveMetadata(ISectorView image)
    {
        ContainerState state = ContainerState.Look(ApfsBench.ContainerOf(image));
        VolumeState volume = VolumeState.Look(state, state.Current.Superblock.VolumeOids[0]);
        IEnumerable<ulong> nodes = volume.Map.Nodes.Concat(state.Map.Nodes).Concat(state.Map.Latest.Concat(volume.Map.Latest).Select(m => m.Address));
        return [.. nodes.Append(0ul).Append(state.Current.Address).Distinct().Select(a => (long)a)];
    }

    internal static HoledView Holed(RealVolume real, ISectorView image, double share, int seed) => new(real.WrittenOnly(image), Holes(real.Written, share, seed));

    /// <summary>Holes of 512 bytes to 128 KiB that together take the share of what was written.</summary>
    internal static List<ByteRange> Holes(IReadOnlyList<ByteRange> written, double share, int seed)
    {
        var random = new Random(seed);
        long all = written.Sum(r => r.Length), lost = 0;
        var holes = new List<ByteRange>();
        while (lost < share * all)
        {
            long at = random.NextInt64(all / 512) * 512, length = 512L << random.Next(0, 9);
            int i = 0;
            for (; at >= written[i].Length; i++)
                at -= written[i].Length;
            holes.Add(new ByteRange(written[i].Offset + at, length));
            lost += length;
        }

        return holes;
    }
}
