using Turnstone.Bench;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Handover.Tests;

public class ResumeTests
{
    private static readonly byte[] Bytes = HandMade.Bytes(8 << 20);

    private static readonly Entry[] Entries =
    [
        .. Enumerable.Range(0, 12).Select(i => HandMade.File($"folder {i % 3}/file {i}", Extent.At(i * 300_032, 1000 + (i * 10_000)))),
        HandMade.File("long.bin", Extent.At(4 << 20, 3_000_000)),
        HandMade.File("small") with { Content = new ResidentContent("inside its record"u8.ToArray()) },
        HandMade.File("shortcut") with { Kind = EntryKind.Link, Content = new ResidentContent("folder 1/last"u8.ToArray()) },
        HandMade.File("folder 1/last", Extent.At(3_600_384, 100_000)),
    ];

    private static readonly ByteRange[] Holes = [new(300_544, 512), new(1_000_448, 2048)];

    private static HandoverResult Make(string folder, ByteRange[] holes, Action<HandoverProgress>? progress = null, string id = "read 1", CancellationToken stop = default) =>
        new BagMaker(new HandoverOrder(folder) { SourceId = id, Clock = new StoppedClock() })
            .Make(new Grader(new HoledView(new MemoryView(Bytes), holes)).Findings(new HandMadeVolume("ext4", Entries)), progress, stop);

    private static void Interrupt(string folder, ByteRange[] holes, int after)
    {
        using var stop = new CancellationTokenSource();
        int written = 0;
        Assert.Throws<OperationCanceledException>(() => Make(folder, holes, _ => Count(), stop: stop.Token));

        void Count()
        {
            if (++written == after)
                stop.Cancel();
        }
    }

    private static IEnumerable<(string Path, string Digest)> Content(string folder) =>
        Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories)
            .Select(file => (Path.GetRelativePath(folder, file), TwinDigest.OfFile(file)!.Value.Sha256)).Order();

    [Theory]
    [InlineData(1)]
    [InlineData(5)]
    [InlineData(16)]
    public void A_hand_over_that_was_interrupted_ends_like_one_that_was_not(int after)
    {
        using var folder = new TempFolder();
        Make(folder["straight"], Holes);
        Interrupt(folder["bag"], Holes, after);
        Make(folder["bag"], Holes);
        Assert.Equal(Content(folder["straight"]), Content(folder["bag"]));
    }

    [Fact]
    public void Files_that_are_there_and_right_are_not_written_again()
    {
        using var folder = new TempFolder();
        Interrupt(folder["bag"], [], 5);
        string first = folder["bag/data/whole/p1/folder 0/file 0"];
        // Digits alone: the inode's number and the moment of its last change.
        (int code, string before) = Tool.Bash("/", $"stat -c '%i %z' '{first}'");
        Assert.True(code == 0, before);
        Make(folder["bag"], []);
        Assert.Equal((0, before), Tool.Bash("/", $"stat -c '%i %z' '{first}'"));
    }

    [Fact]
    public void A_file_that_was_spoilt_in_between_is_written_again()
    {
        using var folder = new TempFolder();
        Interrupt(folder["bag"], [], 5);
        using (FileStream spoil = File.OpenWrite(folder["bag/data/whole/p1/folder 0/file 0"]))
            spoil.WriteByte((byte)~Bytes[0]);
        File.WriteAllText(folder["bag/data/whole/p1/folder 0/half"], "written");
        Make(folder["bag"], []);
        Assert.Empty(new BagCheck(folder["bag"]).Run().Problems);
        Assert.Equal(Bytes.AsSpan(0, 1000).ToArray(), File.ReadAllBytes(folder["bag/data/whole/p1/folder 0/file 0"]));
    }

    [Fact]
    public void A_better_read_in_between_is_taken_in()
    {
        using var folder = new TempFolder();
        Make(folder["straight"], []);
        Interrupt(folder["bag"], Holes, 8);
        Make(folder["bag"], []);
        Assert.Equal(Content(folder["straight"]), Content(folder["bag"]));
        Assert.DoesNotContain(Directory.EnumerateDirectories(folder["bag/data"], "*", SearchOption.AllDirectories), at => !Directory.EnumerateFileSystemEntries(at).Any());
    }

    [Fact]
    public void Another_hand_over_is_never_mixed_in()
    {
        using var folder = new TempFolder();
        Interrupt(folder["bag"], [], 5);
        string[] before = Directory.GetFiles(folder["bag"], "*", SearchOption.AllDirectories);
        Assert.Contains("of something else", Assert.Throws<HandoverException>(() => Make(folder["bag"], [], id: "read 2")).Message, StringComparison.Ordinal);
        Assert.Equal(before, Directory.GetFiles(folder["bag"], "*", SearchOption.AllDirectories));
    }

    [Fact]
    public void A_link_that_was_put_in_between_stops_it()
    {
        using var folder = new TempFolder();
        Directory.CreateDirectory(folder["outside"]);
        Interrupt(folder["bag"], [], 5);
        Directory.Delete(folder["bag/data/whole/p1/folder 0"], recursive: true);
        Directory.CreateSymbolicLink(folder["bag/data/whole/p1/folder 0"], folder["outside"]);
        Assert.Contains("symbolic link", Assert.Throws<HandoverException>(() => Make(folder["bag"], [])).Message, StringComparison.Ordinal);
        Assert.Empty(Directory.EnumerateFileSystemEntries(folder["outside"]));
    }

    [Fact]
    public void A_mark_that_names_files_elsewhere_touches_none_of_them()
    {
        using var folder = new TempFolder();
        Interrupt(folder["bag"], [], 5);
        File.WriteAllText(folder["mine.txt"], "mine");
        File.AppendAllText(folder["bag/unfinished-handover.txt"], $"../mine.txt\tx\t{new string('0', 64)}\n{folder["mine.txt"]}\tx\t{new string('0', 64)}\n");
        Make(folder["bag"], []);
        Assert.Equal("mine", File.ReadAllText(folder["mine.txt"]));
    }

    [Fact]
    public void A_torn_last_line_is_forgotten()
    {
        using var folder = new TempFolder();
        Interrupt(folder["bag"], [], 5);
        string mark = folder["bag/unfinished-handover.txt"];
        File.WriteAllText(mark, File.ReadAllText(mark)[..^70]);
        Make(folder["bag"], []);
        Assert.Empty(new BagCheck(folder["bag"]).Run().Problems);
    }

    private sealed class StoppedClock : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => new(2026, 1, 31, 12, 0, 0, TimeSpan.Zero);
    }
}
