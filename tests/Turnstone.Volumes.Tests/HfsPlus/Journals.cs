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

        Assert.DoesNotContain(Prebuilt.Open(new MemoryView(bytes))!.Entries(), e => e.Origin == Origin.Journal);
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
