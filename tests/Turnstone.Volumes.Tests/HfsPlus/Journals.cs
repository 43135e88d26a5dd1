using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>A real volume with a journal put into its free blocks: one catalog leaf stands there and not, or otherwise, at its place.</summary>
public class Journals
{
    private const int NodeBytes = 4096;

    // the first leaf that is not the first node of the catalog: its place follows from the header's fork and one node
    private static readonly long Leaf = LeafOf("sizes/4097.bin");

    public static TheoryData<bool, int> Forms => new() { { false, JournalBuilder.Sector }, { true, JournalBuilder.Sector }, { false, JournalBuilder.RingBytes - 2048 } };

    [Theory, MemberData(nameof(Forms))]
    public void Changes_that_wait_in_the_journal_are_what_the_volume_says(bool bigEndian, int ringAt)
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        byte[] node = Node(bytes);
        new JournalBuilder(bytes, bigEndian).From(ringAt).Add((Leaf, node)).Finish(start: ringAt);
        bytes.AsSpan((int)Leaf, NodeBytes).Fill(0xA5);
        var disk = new MemoryView(bytes);

        AssertWhole(disk, Certainty.Likely);
        Assert.Contains(Prebuilt.Open(disk)!.Facts.Notes, n => n.Contains("not yet written", StringComparison.Ordinal));
    }

    [Theory, MemberData(nameof(Forms))]
    public void A_node_that_is_not_held_comes_from_the_ring(bool bigEndian, int ringAt)
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        byte[] old = new byte[NodeBytes];
        // an older state of the same node comes first and must not win
        new JournalBuilder(bytes, bigEndian).From(ringAt).Add((Leaf, old)).Add((Leaf, Node(bytes))).Finish();

        AssertWhole(new HoledView(new MemoryView(bytes), [new ByteRange(Leaf, NodeBytes)]), Certainty.Likely);
        AssertWhole(new HoledView(new MemoryView(bytes), [new ByteRange(Leaf + 512, 1024)]), Certainty.Likely);
    }

    [Fact]
    public void A_header_that_waits_in_the_journal_tells_where_the_catalog_went_on()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        var journal = new JournalBuilder(bytes);
        journal.Finish();
        byte[] now = bytes.AsSpan(1024, 512).ToArray();
        journal.Add((1024, now)).Finish(start: JournalBuilder.Sector);
        // what stands at its place is from before the catalog got its second run
        TinyVolume.ForkOf(131072, 32, (0x22, 32)).CopyTo(bytes, 1024 + 272);

        Assert.Equal(Prebuilt.LiveFiles(Prebuilt.Open(Prebuilt.View("hfsplus"))!).Select(Prebuilt.PathOf), Prebuilt.LiveFiles(Prebuilt.Open(new MemoryView(bytes))!).Select(Prebuilt.PathOf));
    }

    [Fact]
    public void A_ring_that_is_only_claimed_costs_no_time()
    {
        byte[] bytes = new byte[1 << 20];
        new TinyVolume().Build().CopyTo(bytes, 0);
        // 4 TiB of blocks, nearly all of them the journal's
        TinyVolume.Put(bytes, 1024 + 4, 0x2100);
        TinyVolume.Put(bytes, 1024 + 12, 200);
        TinyVolume.Put(bytes, 1024 + 44, 1 << 30);
        TinyVolume.Put(bytes, (200 * 4096) + 0, 1);
        TinyVolume.Put(bytes, (200 * 4096) + 40, 201 * 4096);
        TinyVolume.Put(bytes, (200 * 4096) + 44, 1000);
        byte[] head = [0x4A, 0x4E, 0x4C, 0x78, 0x12, 0x34, 0x56, 0x78, 0, 0, 0, 0, 0, 0, 2, 0, 0, 0, 0, 0, 0, 0, 2, 0, 0, 0, 3, 0xE8, 0, 0, 0, 0, 0, 0, 0x10, 0, 0, 0, 0, 0, 0, 0, 2, 0];
        head.CopyTo(bytes, 201 * 4096);

        BadInput.Ask(new HoledView(new MemoryView(bytes), [new ByteRange(6 * 4096, 512)]));
        Assert.Contains(Prebuilt.Open(new MemoryView(bytes))!.Skeleton(), r => r.Length == 1000L << 32);
    }

    [Fact]
    public void A_state_in_the_ring_that_held_bytes_contradict_is_left_alone()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        byte[] other = Node(bytes);
        other.AsSpan(0, 2048).Reverse();
        new JournalBuilder(bytes).Add((Leaf, other)).Finish();
        var disk = new HoledView(new MemoryView(bytes), [new ByteRange(Leaf + NodeBytes - 512, 512)]);

        Assert.DoesNotContain(Prebuilt.Open(disk)!.Entries(), e => e.Origin == Origin.Journal);
        Assert.Contains(Prebuilt.LiveFiles(Prebuilt.Open(disk)!), e => Prebuilt.PathOf(e) == "sizes/4097.bin");
    }

    [Fact]
    public void A_bent_list_is_not_played_back()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        var journal = new JournalBuilder(bytes);
        journal.Add((Leaf, new byte[NodeBytes])).Finish(start: JournalBuilder.Sector);
        bytes[journal.RingAt + JournalBuilder.Sector + 20] ^= 1;

        Volume volume = Prebuilt.Open(new MemoryView(bytes))!;
        Assert.DoesNotContain(volume.Entries(), e => e.Origin == Origin.Journal || e.Certainty == Certainty.Sure);
        Assert.Contains(volume.Facts.Notes, n => n.StartsWith("its last changes stand in a journal", StringComparison.Ordinal));
    }

    [Fact]
    public void The_journal_is_part_of_the_skeleton()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        var journal = new JournalBuilder(bytes);
        journal.Finish();

        Assert.Contains(new ByteRange(journal.RingAt, JournalBuilder.RingBytes), Prebuilt.Open(new MemoryView(bytes))!.Skeleton());
    }

    private static void AssertWhole(ISectorView disk, Certainty certainty)
    {
        var entries = Prebuilt.Open(disk)!.Entries().Where(e => !e.Deleted).ToDictionary(Prebuilt.PathOf);
        Assert.All(Prebuilt.Outside("hfsplus").LiveFiles, line => Assert.Equal((line.Path, line.Sha256), (line.Path, Prebuilt.Digest(entries[line.Path], disk))));
        Assert.Equal((certainty, Origin.Journal), (entries["sizes/4097.bin"].Certainty, entries["sizes/4097.bin"].Origin));
    }

    private static byte[] Node(byte[] bytes) => bytes.AsSpan((int)Leaf, NodeBytes).ToArray();

    /// <summary>The leaf that holds a file's record: without it, the file is gone or only named.</summary>
    private static long LeafOf(string path)
    {
        ISectorView disk = Prebuilt.View("hfsplus");
        return Prebuilt.Open(disk)!.Skeleton().SelectMany(r => Enumerable.Range(0, (int)(r.Length / NodeBytes)).Select(i => r.Offset + ((long)i * NodeBytes)))
            .First(at => !Prebuilt.LiveFiles(Prebuilt.Open(new HoledView(disk, [new ByteRange(at, NodeBytes)]))!).Any(e => Prebuilt.PathOf(e) == path && e.Size == 4097));
    }
}
