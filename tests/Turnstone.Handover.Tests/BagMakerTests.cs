using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Handover.Tests;

public class BagMakerTests
{
    private static readonly byte[] Bytes = HandMade.Bytes(8 << 20);

    private static HandoverResult Make(string folder, ByteRange[] holes, params Entry[] entries) =>
        new BagMaker(new HandoverOrder(folder) { Organization = "Lab of the Test", Identifier = "T-1" })
            .Make(new Grader(new HoledView(new MemoryView(Bytes), holes)).Findings(new HandMadeVolume("exFAT", entries)));

    private static Entry[] Mixed() =>
    [
        HandMade.Folder("Recordings") with { Times = new(new DateTimeOffset(2023, 5, 6, 7, 8, 9, TimeSpan.Zero)) },
        HandMade.File("Recordings/creek.wav", Extent.At(4096, 3_000_001)) with { Times = new(new DateTimeOffset(2023, 5, 6, 7, 8, 10, TimeSpan.Zero)) },
        HandMade.File("Recordings/marsh.wav", Extent.At(3_100_160, 2_000_000), Extent.At(6_000_128, 100_000)),
        HandMade.File("Recordings/lost.wav", Extent.At(7_000_064, 512)),
        HandMade.File("empty.txt"),
        HandMade.DeletedFile("old.txt", Extent.At(7_200_256, 777)),
        HandMade.Folder("nothing in it"),
    ];

    private static readonly ByteRange[] Holes = [new(4_000_256, 1024), new(6_000_128, 512), new(7_000_064, 512)];

    [Fact]
    public void A_bag_is_valid_by_our_check_and_by_ordinary_tools()
    {
        using var folder = new TempFolder();
        HandoverResult result = Make(folder["bag"], Holes, Mixed());
        Assert.Empty(new BagCheck(folder["bag"]).Run().Problems);
        (int code, string said) = Tool.Bash(folder["bag"], "for n in 256 512; do sha${n}sum --strict --quiet -c manifest-sha$n.txt tagmanifest-sha$n.txt; done; sha512sum tagmanifest-sha512.txt");
        Assert.True(code == 0, said);
        Assert.StartsWith(result.SealSha512, said, StringComparison.Ordinal);
        Assert.Equal((5L, 1L), (result.Files, result.OnlyNamed));
    }

    [Fact]
    public void Files_lie_on_the_shelf_of_their_grade_with_the_bytes_of_the_source()
    {
        using var folder = new TempFolder();
        Make(folder["bag"], Holes, Mixed());
        Assert.Equal(Bytes.AsSpan(4096, 3_000_001).ToArray(), File.ReadAllBytes(folder["bag/data/whole/p1/Recordings/creek.wav"]));
        Assert.Equal(Bytes.AsSpan(7_200_256, 777).ToArray(), File.ReadAllBytes(folder["bag/data/deleted/p1/old.txt"]));
        Assert.Equal(0, new FileInfo(folder["bag/data/whole/p1/empty.txt"]).Length);
        byte[] holed = [.. Bytes.AsSpan(3_100_160, 2_000_000), .. Bytes.AsSpan(6_000_128, 100_000)];
        holed.AsSpan(4_000_256 - 3_100_160, 1024).Clear();
        holed.AsSpan(2_000_000, 512).Clear();
        Assert.Equal(holed, File.ReadAllBytes(folder["bag/data/holed/p1/Recordings/marsh.wav"]));
        Assert.EndsWith("900096 1024\n2000000 512\n", File.ReadAllText(folder["bag/data/holed/p1/Recordings/marsh.wav.missing.txt"]), StringComparison.Ordinal);
    }

    [Fact]
    public void Times_are_those_of_the_patient()
    {
        using var folder = new TempFolder();
        Make(folder["bag"], Holes, Mixed());
        Assert.Equal(new DateTime(2023, 5, 6, 7, 8, 10, DateTimeKind.Utc), File.GetLastWriteTimeUtc(folder["bag/data/whole/p1/Recordings/creek.wav"]));
        Assert.Equal(new DateTime(2023, 5, 6, 7, 8, 9, DateTimeKind.Utc), Directory.GetLastWriteTimeUtc(folder["bag/data/whole/p1/Recordings"]));
        Assert.Equal(new DateTime(2023, 5, 6, 7, 8, 9, DateTimeKind.Utc), Directory.GetLastWriteTimeUtc(folder["bag/data/holed/p1/Recordings"]));
    }

    [Fact]
    public void The_table_lists_everything_that_was_found()
    {
        using var folder = new TempFolder();
        Make(folder["bag"], Holes, Mixed());
        string[][] table = [.. File.ReadLines(folder["bag/files.tsv"]).Select(line => line.Split('\t'))];
        Assert.Equal(FileTable.Head.Split('\t'), table[0]);
        Assert.Equal(["Recordings", "Recordings/creek.wav", "Recordings/marsh.wav", "Recordings/lost.wav", "empty.txt", "old.txt", "nothing in it"], table[1..].Select(line => line[1]));
        Assert.Equal(["", "data/whole/p1/Recordings/creek.wav", "data/holed/p1/Recordings/marsh.wav", "", "data/whole/p1/empty.txt", "data/deleted/p1/old.txt", ""], table[1..].Select(line => line[0]));
        Assert.Equal("1536", table[3][8]);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(Bytes.AsSpan(4096, 3_000_001))), table[2][11]);
    }

    [Fact]
    public void A_link_becomes_a_note_and_a_stream_lies_beside_its_file()
    {
        using var folder = new TempFolder();
        Entry link = HandMade.File("shortcut") with { Kind = EntryKind.Link, Content = new ResidentContent("../../etc/passwd"u8.ToArray()) };
        Entry stream = HandMade.File("photo.jpg/Zone:Identifier", Extent.At(0, 10)) with { Kind = EntryKind.Stream };
        Make(folder["bag"], [], HandMade.File("photo.jpg", Extent.At(512, 10)), stream, link);
        Assert.Contains("Target:  ../../etc/passwd\n", File.ReadAllText(folder["bag/data/whole/p1/shortcut.link.txt"]), StringComparison.Ordinal);
        Assert.Equal(10, new FileInfo(folder["bag/data/whole/p1/photo.jpg (stream Zone_Identifier)"]).Length);
        Assert.Empty(new BagCheck(folder["bag"]).Run().Problems);
    }

    [Fact]
    public void A_folder_with_something_in_it_is_left_alone()
    {
        using var folder = new TempFolder();
        File.WriteAllText(folder["mine.txt"], "x");
        Assert.Contains("is not empty", Assert.Throws<HandoverException>(() => Make(folder.Path, [], Mixed())).Message, StringComparison.Ordinal);
        Assert.Equal(["mine.txt"], Directory.EnumerateFileSystemEntries(folder.Path).Select(Path.GetFileName));
    }

    [Fact]
    public void An_interrupted_bag_is_marked_and_is_no_bag()
    {
        using var folder = new TempFolder();
        using var stop = new CancellationTokenSource();
        IEnumerable<FileFinding> findings = new Grader(new MemoryView(Bytes)).Findings(new HandMadeVolume("exFAT", Mixed()));
        Assert.Throws<OperationCanceledException>(() => new BagMaker(new HandoverOrder(folder["bag"])).Make(findings, _ => stop.Cancel(), stop.Token));
        Assert.True(File.Exists(folder["bag/unfinished-handover.txt"]));
        Assert.False(File.Exists(folder["bag/bagit.txt"]));
        Assert.False(new BagCheck(folder["bag"]).Run().IsComplete);
    }

    [Fact]
    public void An_image_that_lost_bytes_since_the_grading_stops_the_hand_over()
    {
        using var folder = new TempFolder();
        var view = new FadingView(new MemoryView(Bytes));
        IEnumerable<FileFinding> findings = new Grader(view).Findings(new HandMadeVolume("exFAT", HandMade.File("a", Extent.At(0, 5000))));
        HandoverException e = Assert.Throws<HandoverException>(() => new BagMaker(new HandoverOrder(folder["bag"])).Make(findings));
        Assert.Contains("not held any more", e.Message, StringComparison.Ordinal);
        Assert.True(File.Exists(folder["bag/unfinished-handover.txt"]));
    }

    [Fact]
    public void An_image_that_cannot_be_read_is_not_taken_for_a_bad_target()
    {
        using var folder = new TempFolder();
        IEnumerable<FileFinding> Broken()
        {
            yield return new Grader(new MemoryView(Bytes)).Findings(new HandMadeVolume("exFAT", HandMade.File("a", Extent.At(0, 50)))).Single();
            throw new IOException("input/output error");
        }

        HandoverException e = Assert.Throws<HandoverException>(() => new BagMaker(new HandoverOrder(folder["bag"])).Make(Broken()));
        Assert.StartsWith("The image cannot be read: input/output error", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    [Trait("kind", "privileged")]
    public void A_full_target_is_told_and_leaves_no_bag()
    {
        using var folder = new TempFolder();
        Directory.CreateDirectory(folder["small"]);
        (int code, string said) = Tool.Bash(folder.Path, "mount -t tmpfs -o size=1m none small");
        Assert.True(code == 0, said);
        try
        {
            HandoverException e = Assert.Throws<HandoverException>(() => Make(folder["small/bag"], [], Mixed()));
            Assert.Contains("The target is full", e.Message, StringComparison.Ordinal);
            Assert.False(File.Exists(folder["small/bag/bagit.txt"]));
            Assert.True(File.Exists(folder["small/bag/unfinished-handover.txt"]));
        }
        finally
        {
            Tool.Bash(folder.Path, "umount small");
        }
    }

    [Fact]
    public void Every_file_called_whole_has_the_bytes_of_its_source_whatever_the_holes() => Gen.Select(Gen.Int[0, 4000].Array[0, 6], Gen.Int[1, 12]).Sample(
        (lost, count) =>
        {
            using var folder = new TempFolder();
            Entry[] entries = [.. Enumerable.Range(0, count).Select(i => HandMade.File($"f{i}", Extent.At((i * 150_016) + 512, 100_000 + i), Extent.At((i * 150_016) + 110_080, 700)))];
            Make(folder["bag"], [.. lost.Select(sector => new ByteRange(sector * 512, 512))], entries);
            foreach (string line in File.ReadLines(folder["bag/files.tsv"]).Where(line => line.StartsWith("data/whole/", StringComparison.Ordinal)))
            {
                string[] cell = line.Split('\t');
                int i = int.Parse(cell[1][1..]);
                byte[] source = [.. Bytes.AsSpan((i * 150_016) + 512, 100_000 + i), .. Bytes.AsSpan((i * 150_016) + 110_080, 700)];
                if (cell[11] != Convert.ToHexStringLower(SHA256.HashData(source)) || !File.ReadAllBytes(folder["bag/" + cell[0]]).AsSpan().SequenceEqual(source))
                    return false;
            }

            return new BagCheck(folder["bag"]).Run().IsValid;
        },
        iter: 30);

    /// <summary>Says that all is held and gives nothing: an image that was damaged after the grading.</summary>
    private sealed class FadingView(ISectorView inner) : ISectorView
    {
        public long Length => inner.Length;

        public SectorSize SectorSize => inner.SectorSize;

        public bool TryRead(long offset, Span<byte> into) => false;

        public IEnumerable<ByteRange> Missing(ByteRange range) => [];
    }
}
