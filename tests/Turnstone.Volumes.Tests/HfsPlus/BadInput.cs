using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apple;
using Turnstone.Volumes.HfsPlus;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>Whatever the bytes are, there is an answer, it ends, and it takes no more than the bytes allow.</summary>
public class BadInput
{
    public static TheoryData<string, int> Bases => new() { { "hfsplus", 4096 }, { "hfslinks", 8192 }, { "tiny", 8192 }, { "journal", 4096 } };

    [Fact]
    public void Any_bytes_get_an_answer_and_never_an_exception() =>
        Gen.Byte.Array[0, 2000].Sample(bytes => Ask(new MemoryView(Padded(bytes, 8192))));

    [Fact]
    public void Any_node_gets_an_answer_and_its_records_do_not_overlap() =>
        Gen.Byte.Array[512].Sample(bytes =>
        {
            var node = new BTreeNode(0, bytes, Held.Whole, CatalogRecord.LengthOf);
            Assert.InRange(Enumerable.Range(0, node.Found).Sum(i => node.Record(i).Length), 0, bytes.Length);
        });

    [Fact]
    public void Any_attribute_of_a_compressed_file_gets_an_answer() =>
        Gen.Byte.Array[0, 100].Sample(bytes =>
        {
            byte[] attribute = [0x66, 0x70, 0x6D, 0x63, (byte)(bytes.Length % 13), 0, 0, 0, 50, 0, 0, 0, 0, 0, 0, 0, .. bytes];
            FileContent? content = CompressionHeader.Read(attribute).OrNone?.Content(new StoredContent([]));
            _ = content?.TryRead(new MemoryView([]), 0, new byte[content.Length]) == content?.Missing(new MemoryView([])).Any();
        });

    [Theory, MemberData(nameof(Bases))]
    public void A_bent_volume_is_read_to_the_end(string name, int nodeBytes)
    {
        byte[] volume = Base(name);
        (int, int)[] metadata = [.. Prebuilt.Open(new MemoryView(volume))!.Skeleton().Select(r => ((int)r.Offset, (int)r.Length))];
        Gen.Int[0, int.MaxValue].Sample(seed =>
        {
            byte[] bent = (byte[])volume.Clone();
            var random = new Random(seed);
            Mutations.Bend(bent, metadata, random, nodeBytes);
            ISectorView disk = new MemoryView(bent);
            Ask(seed % 3 == 0 ? Holes.Punch(disk, 0.02, seed) : disk);
        }, iter: 60);
    }

    [Fact]
    public void A_catalog_that_claims_the_whole_of_a_huge_volume_costs_no_time()
    {
        // 2^32 - 1 blocks of 64 KiB, of which one megabyte is held: a walk over what is claimed would take days
        byte[] bytes = new TinyVolume().Build();
        foreach (int at in (int[])[1024, bytes.Length - 1024])
        {
            TinyVolume.Put(bytes.AsSpan(at), 40, 65536);
            TinyVolume.Put(bytes.AsSpan(at), 44, uint.MaxValue);
            TinyVolume.ForkOf(long.MaxValue, uint.MaxValue, (1, 0xFFFFFFF0)).CopyTo(bytes, at + 272);
            TinyVolume.ForkOf(long.MaxValue, uint.MaxValue, (1, 0xFFFFFFF0)).CopyTo(bytes, at + 112);
        }

        Ask(new MemoryView(bytes));
    }

    /// <summary>Asks everything; what it answers must hold together.</summary>
    internal static void Ask(ISectorView disk)
    {
        if (Prebuilt.Open(disk) is not { } volume)
            return;
        Assert.NotNull(volume.Facts);
        int entries = 0;
        foreach (Entry entry in volume.Entries())
        {
            entries++;
            Assert.InRange(entry.Path.Names.Count, 1, 1003);
            Assert.InRange(entry.Content?.Length ?? 0, 0, long.MaxValue / 2);
            if (entry.Content?.Length < 1 << 20)
                Assert.Equal(entry.Content.Missing(disk).Any(), !entry.Content.TryRead(disk, 0, new byte[entry.Content.Length]));
        }

        // no record is shorter than 24 bytes, a few may be told from two places
        Assert.InRange(entries, 0, disk.Length / 8);
        Assert.All(volume.Skeleton(), r => Assert.InRange(r.Offset, 0, long.MaxValue));
        long last = 0;
        foreach (UsageRun run in volume.Usage().Take(100_000))
        {
            Assert.InRange(run.Place.Offset, last, long.MaxValue);
            last = run.Place.End;
        }
    }

    internal static byte[] Base(string name) => name switch
    {
        "tiny" => Tiny(),
        "journal" => Journaled(),
        _ => Prebuilt.Bytes(name),
    };

    private static byte[] Tiny()
    {
        var tiny = new TinyVolume();
        uint folder = tiny.AddFolder(2, "folder");
        uint store = tiny.AddFolder(2, ".HFS+ Private Directory Data\r");
        tiny.AddFolder(store, "dir_50");
        tiny.AddFile(2, "link", [], TinyVolume.LinkTo("fdrp", "MACS", 50));
        tiny.AddFile(folder, "file", new byte[5000]);
        tiny.AddFile(tiny.AddFolder(folder, "deeper"), "file", new byte[9000]);
        return tiny.Build();
    }

    private static byte[] Journaled()
    {
        byte[] bytes = Prebuilt.Bytes("hfsplus");
        long catalog = Prebuilt.Open(new MemoryView(bytes))!.Skeleton().ElementAt(3).Offset;
        return new JournalBuilder(bytes).Add((catalog, bytes.AsSpan((int)catalog, 8192).ToArray())).Add((catalog + 4096, bytes.AsSpan((int)catalog + 4096, 4096).ToArray())).Finish(JournalBuilder.Sector);
    }

    private static byte[] Padded(byte[] bytes, int length)
    {
        byte[] padded = new byte[length];
        bytes.CopyTo(padded, 0);
        // most noise would be turned away by its signature: let it through to the fields
        (padded[1024], padded[1025], padded[1026], padded[1027]) = (0x48, 0x2B, 0, 4);
        return padded;
    }
}
