using System.Text;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

public sealed class FormatTests
{
    private static readonly byte[] Small = ContainerBuilder.Build(4096, [new VolumePlan("v", new TreePlan().File(20, 2, "a", 10, 90))]);

    /// <summary>Outside source: mkapfs of apfsprogs makes the volume with the names that it is given, apfsck finds it sound.</summary>
    [Fact]
    public void A_fresh_volume_of_the_outside_formatter_is_recognised()
    {
        string path = Path.GetTempFileName();
        try
        {
            using (FileStream file = File.OpenWrite(path))
                file.SetLength(600L << 20);
            Tool.Run("mkapfs", "-L", "Prüfling 7", "-u", "11112222-3333-4444-5555-666677778888", "-U", "aaaabbbb-cccc-dddd-eeee-ffff00001111", path);
            Tool.Run("apfsck", path);
            using var view = new ImageView(path, SectorSize.Small);
            Volume volume = ApfsBench.Single(view);
            Assert.Equal(("APFS", "Prüfling 7", 4096, new ByteRange(0, 600L << 20)), (volume.Facts.Kind, volume.Facts.Label, volume.Facts.ClusterBytes, volume.Facts.Place));
            Assert.Contains(volume.Facts.Id, (string[])["AAAABBBB-CCCC-DDDD-EEEE-FFFF00001111", "11112222-3333-4444-5555-666677778888"]);
            Assert.Equal((Certainty.Sure, Origin.Table), (volume.Facts.Certainty, volume.Facts.Origin));
            Assert.Empty(volume.Entries());
        }
        finally
        {
            File.Delete(path);
        }
    }

    /// <summary>Outside source: every checksum in the volume was computed by the driver that wrote it.</summary>
    [Fact]
    public void The_checksum_is_the_one_that_the_outside_driver_wrote()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        var block = new byte[4096];
        int proven = 0;
        for (long at = 0; at < 600 * 4096; at += block.Length)
        {
            Assert.True(image.TryRead(at, block));
            if (!ContainerSuperblock.Claims(block))
                continue;
            Assert.True(ObjectHeader.IsProven(block));
            proven++;
            block[4095] ^= 1;
            Assert.False(ObjectHeader.IsProven(block));
        }

        Assert.InRange(proven, 20, 64);
    }

    [Fact]
    public void A_container_that_starts_elsewhere_on_the_disk_is_not_taken_for_one_that_starts_here()
    {
        byte[] disk = [.. new byte[20 * 4096], .. Small];
        var view = new HoledView(new MemoryView(disk), [new ByteRange(0, 4096)]);
        Assert.Empty(ApfsBench.Open(view));
        Assert.Single(new ApfsFormat().Open(new PartView(view, ByteRange.Between(20 * 4096, disk.Length)), "p1"));
    }

    [Fact]
    public void A_container_that_no_table_leads_to_is_found_by_its_checkpoints_with_all_its_volumes()
    {
        byte[] container = ContainerBuilder.Build(4096, [new VolumePlan("one", new TreePlan().File(20, 2, "a", 10, 90)), new VolumePlan("two", new TreePlan())]);
        container.AsSpan(0, 4096).Clear();
        var disk = new MemoryView([.. new byte[37 * 512], .. container, .. new byte[1 << 20]]);
        IReadOnlyList<LostVolume> lost = LostVolumes.Search(disk, Disk.Read(disk));
        Assert.Equal([("at-18944.v1", "one"), ("at-18944.v2", "two")], lost.Select(l => (l.Volume.Facts.Name, l.Volume.Facts.Label)).Order());
        Assert.All(lost, l => Assert.True(l.Consistency > 0.8, $"{l.Consistency}: {string.Join("; ", l.Evidence)}"));
    }

    [Fact]
    public void A_superblock_of_the_checkpoint_area_is_not_taken_for_a_first_block()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        Assert.All(Enumerable.Range(1, 64), block => Assert.Empty(new ApfsFormat().Open(new PartView(image, ByteRange.Between(block * 4096L, image.Length)), "p1")));
    }

    [Fact]
    public void What_another_file_system_was_written_over_is_not_brought_back()
    {
        byte[] image = [.. Small];
        Encoding.ASCII.GetBytes("\u00EBXANOTHER ").CopyTo(image, 0);
        image.AsSpan(16, 496).Fill(0x5A);
        Assert.Empty(ApfsBench.Open(new MemoryView(image)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(0xFF)]
    public void A_container_whose_first_block_was_wiped_is_found_by_its_checkpoints(byte fill)
    {
        byte[] image = [.. Small];
        image.AsSpan(0, 4096).Fill(fill);
        Assert.Equal("a", Assert.Single(ApfsBench.Single(new MemoryView(image)).Entries()).Path.ToString());
    }

    [Fact]
    public void A_damaged_checkpoint_falls_back_on_the_copy_and_says_so()
    {
        byte[] image = [.. Small];
        image[(2 * 4096) + 700] ^= 1;
        VolumeFacts facts = ApfsBench.Single(new MemoryView(image)).Facts;
        Assert.Equal(Origin.Copy, facts.Origin);
        Assert.Contains(facts.Notes, n => n.Contains("copy", StringComparison.Ordinal));
    }

    [Fact]
    public void An_older_checkpoint_is_no_more_than_a_guess()
    {
        using ImageView image = ApfsBench.Plain.Outside.Open();
        var state = ContainerState.Look(ApfsBench.ContainerOf(image));
        var view = new HoledView(ApfsBench.Plain.WrittenOnly(image), [new ByteRange(0, 4096), state.Blocks.Place(state.Current.Address)]);
        Volume volume = ApfsBench.Single(view);
        Assert.Equal((Certainty.Guessed, Origin.Journal), (volume.Facts.Certainty, volume.Facts.Origin));
        Assert.All(volume.Entries(), e => Assert.Equal(Certainty.Guessed, e.Certainty));
        Assert.NotEmpty(volume.Entries());
    }

    [Fact]
    public void A_disk_without_a_table_that_is_one_container_is_read_as_a_whole()
    {
        Volume volume = Assert.Single(Disk.Read(new MemoryView(Small)).Volumes);
        Assert.Equal(("whole.v1", "APFS"), (volume.Facts.Name, volume.Facts.Kind));
    }
}
