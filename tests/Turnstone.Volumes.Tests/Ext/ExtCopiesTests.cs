using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Ext;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>Structures that have a second place are found there.</summary>
[Trait("kind", "privileged")]
public sealed class ExtCopiesTests
{
    public static TheoryData<string> WithCopies => ["ext2", "ext2-wide", "ext3", "ext4", "ext4-1k", "gdt-sums", "meta-bg", "no-flex", "block-map", "sparse2"];

    public static TheoryData<string> WithSums => ["ext4", "ext4-1k", "meta-bg", "inline", "block-map", "sparse2"];

    [Theory]
    [MemberData(nameof(WithCopies))]
    public void Without_the_first_superblock_a_copy_gives_the_same_list(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        var holed = new HoledView(disk, [new ByteRange(1024, 1024)]);
        VolumeFacts facts = ExtFixture.Open(holed).Facts;
        Assert.Equal((Origin.Copy, disk.Length), (facts.Origin, facts.Place.Length));
        Assert.Equal(Live(disk), Live(holed));
    }

    [Theory]
    [MemberData(nameof(WithCopies))]
    public void Without_the_first_descriptors_a_copy_gives_the_same_list(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        Assert.Equal(Live(disk), Live(new HoledView(disk, Descriptors(disk).Select(places => places[0]))));
    }

    [Theory]
    [MemberData(nameof(WithSums))]
    public void Without_any_descriptor_the_usual_places_are_confirmed_by_the_inodes_own_sums(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        var holed = new HoledView(disk, Descriptors(disk).SelectMany(places => places));
        Entry[] read = [.. ExtFixture.Entries(holed).Where(e => !e.Deleted)];
        Assert.Equal(Live(disk), Live(holed));
        Assert.All(read, entry => Assert.Equal((Certainty.Likely, Origin.Scan), (entry.Certainty, entry.Origin)));
    }

    [Fact]
    public void A_superblock_overwritten_with_zeros_is_replaced_by_its_copy()
    {
        OutsideVolume outside = ExtFixture.Get("ext4-1k");
        byte[] bytes = File.ReadAllBytes(outside.Image);
        bytes.AsSpan(0, 4096).Clear();
        var disk = new MemoryView(bytes);
        Assert.Equal((Origin.Copy, Certainty.Likely), (ExtFixture.Open(disk).Facts.Origin, ExtFixture.Open(disk).Facts.Certainty));
        Assert.NotEmpty(Live(disk));
    }

    [Fact]
    public void A_bent_superblock_without_a_checksum_is_outvoted_by_its_copies()
    {
        byte[] bytes = File.ReadAllBytes(ExtFixture.Get("ext2").Image);
        IEnumerable<string> before = [.. Live(new MemoryView(bytes))];
        (bytes[1024 + 0x58], bytes[1024 + 0x59]) = (0x80, 0); // inodes of 128 bytes instead of 256: believable, and wrong
        Assert.Equal(Origin.Copy, ExtFixture.Open(new MemoryView(bytes)).Facts.Origin);
        Assert.Equal(before, Live(new MemoryView(bytes)));
    }

    [Fact]
    public void Copies_of_a_volume_that_gave_way_to_another_are_left_alone()
    {
        byte[] bytes = File.ReadAllBytes(ExtFixture.Get("ext4").Image);
        bytes.AsSpan(0, 4096).Fill(0xF6);
        Assert.Empty(ExtFixture.OpenAll(new MemoryView(bytes)));
    }

    [Fact]
    public void Copies_under_another_file_systems_boot_sector_are_left_alone()
    {
        byte[] bytes = File.ReadAllBytes(ExtFixture.Get("ext4-1k").Image);
        bytes.AsSpan(0, 4096).Clear();
        "NTFS    "u8.CopyTo(bytes.AsSpan(3));
        (bytes[510], bytes[511]) = (0x55, 0xAA);
        Assert.Empty(ExtFixture.OpenAll(new MemoryView(bytes)));
        Assert.Empty(ExtFixture.OpenAll(new HoledView(new MemoryView(bytes), [new ByteRange(1024, 1024)])));
    }

    [Fact]
    public void The_volume_is_asked_anew_when_more_is_held()
    {
        using ImageView disk = ExtFixture.Get("ext4").Open();
        var growing = new GrowingView(disk, new HoledView(disk, [new ByteRange(0, 1 << 20)]));
        Volume volume = ExtFixture.Open(growing);
        int before = volume.Entries().Count(e => e.Certainty == Certainty.Sure);
        growing.IsWhole = true;
        Assert.Equal((Origin.Table, 0), (volume.Facts.Origin, before));
        Assert.Equal(Live(disk), volume.Entries().Where(e => !e.Deleted).Select(Show).Order(StringComparer.Ordinal));
    }

    private static IEnumerable<string> Live(ISectorView view) => ExtFixture.Entries(view).Where(e => !e.Deleted).Select(Show).Order(StringComparer.Ordinal);

    private static string Show(Entry e) => $"{e.Path} {e.Kind} {e.Size} {e.Number} {string.Join(' ', e.Content?.Extents ?? [])}";

    private static IEnumerable<ByteRange[]> Descriptors(ImageView disk)
    {
        var bytes = new byte[ExtSuperblock.Size];
        disk.TryRead(ExtSuperblock.Place, bytes);
        ExtSuperblock super = ExtSuperblock.Read(bytes).OrNone!;
        for (long index = 0; index < super.DescriptorBlocks; index++)
            yield return [.. super.DescriptorPlaces(index).Select(block => new ByteRange(block * super.BlockSize, super.BlockSize))];
    }

    private sealed class GrowingView(ISectorView whole, ISectorView less) : ISectorView
    {
        public bool IsWhole { get; set; }

        public long Length => whole.Length;

        public SectorSize SectorSize => whole.SectorSize;

        private ISectorView Now => IsWhole ? whole : less;

        public bool TryRead(long offset, Span<byte> into) => Now.TryRead(offset, into);

        public IEnumerable<ByteRange> Missing(ByteRange range) => Now.Missing(range);
    }
}
