using System.Diagnostics;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Bent volumes get an answer in time, and the answer keeps the model's promises. TURNSTONE_FUZZ_SECONDS makes it run on with other seeds ('--filter-trait bent=exfat' for one kind).</summary>
public sealed class MutatedVolumeTests
{
    private const int FixedSeeds = 40;
    private static readonly TimeSpan s_patience = TimeSpan.FromSeconds(60);

    [Theory]
    [Trait("kind", "slow")]
    [InlineData("make-fat.sh", "12", Traits = ["bent", "fat12"])]
    [InlineData("make-fat.sh", "16", Traits = ["bent", "fat16"])]
    [InlineData("make-fat.sh", "32", Traits = ["bent", "fat32"])]
    [InlineData("make-exfat.sh", null, Traits = ["bent", "exfat"])]
    [InlineData("make-partitions.sh", "mbr", Traits = ["bent", "mbr"])]
    [InlineData("make-partitions.sh", "gpt", Traits = ["bent", "gpt"])]
    public void A_bent_volume_gets_an_answer_in_time(string script, string? argument)
    {
        OutsideVolume outside = OutsideVolume.Make(script, argument is null ? [] : [argument]);
        using ImageView file = outside.Open();
        var bytes = new byte[file.Length];
        Assert.True(file.TryRead(0, bytes));
        var image = new MemoryView(bytes);
        Disk whole = Disk.Read(image);
        var mutations = new Mutations(image, [.. whole.Skeleton.Concat(whole.Volumes.SelectMany(volume => volume.Skeleton()))]);
        int more = int.Parse(Environment.GetEnvironmentVariable("TURNSTONE_FUZZ_SECONDS") ?? "0");
        var watch = Stopwatch.StartNew();
        int seed = 0;
        for (; seed < FixedSeeds || watch.Elapsed.TotalSeconds < more; seed++)
            Check(mutations.Of(seed), seed);
        TestContext.Current.TestOutputHelper?.WriteLine($"{script} {argument}: {seed} bent volumes in {watch.Elapsed.TotalSeconds:F0} s");
    }

    [Theory]
    [Trait("kind", "slow")]
    [InlineData(1)]
    [InlineData(2)]
    public void Noise_behind_a_sound_boot_sector_gets_an_answer_in_time(int seed)
    {
        foreach ((string script, string argument) in ((string, string)[])[("make-fat.sh", "12"), ("make-fat.sh", "16"), ("make-fat.sh", "32"), ("make-exfat.sh", "512")])
        {
            using ImageView file = OutsideVolume.Make(script, argument).Open();
            var bytes = new byte[Math.Min(file.Length, 8 << 20)];
            new Random(seed).NextBytes(bytes);
            Assert.True(file.TryRead(0, bytes.AsSpan(0, 512)));
            Check(new MemoryView(bytes), seed);
        }
    }

    private static void Check(ISectorView view, int seed)
    {
        var watch = Stopwatch.StartNew();
        try
        {
            Disk disk = Disk.Read(view);
            foreach (Volume volume in disk.Volumes)
                Promises(view, volume);
            Assert.True(watch.Elapsed < s_patience, $"took {watch.Elapsed}");
        }
        catch (Exception e) when (e is not Xunit.Sdk.IAssertionException)
        {
            throw new InvalidOperationException($"seed {seed}: {e.Message}", e);
        }
    }

    private static void Promises(ISectorView view, Volume volume)
    {
        VolumeFacts facts = volume.Facts;
        long entries = 0;
        foreach (Entry entry in volume.Entries())
        {
            Assert.True(++entries < view.Length / 32, "more entries than the disk has slots");
            if (entry.Content is not { } content)
                continue;
            Assert.InRange(content.Length, 0, Math.Max(0, facts.Place.Length));
            if (content.Extents is { } extents)
                Assert.Equal(content.Length, extents.Sum(extent => extent.Length));
            long last = -1;
            foreach (ByteRange missing in content.Missing(view))
            {
                Assert.True(missing.Offset > last && missing.End <= content.Length, "missing ranges overlap or pass the end");
                last = missing.End;
            }
        }

        long reached = 0;
        foreach (UsageRun run in volume.Usage())
        {
            Assert.True(run.Place.Offset >= reached, "usage goes backwards");
            reached = run.Place.End;
        }

        Assert.True(volume.Skeleton().Count() <= entries + 1000 + (view.Length / 512));
        Assert.True(volume.Checks().Count() < 20);
    }
}
