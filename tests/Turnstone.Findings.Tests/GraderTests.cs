using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings.Tests;

public class GraderTests
{
    private static readonly MemoryView Source = new(HandMade.Bytes(64 * 512));

    private static FileFinding Grade(Entry entry, params ByteRange[] holes) => GradeAll("FAT32", holes, entry)[0];

    private static FileFinding[] GradeAll(string kind, ByteRange[] holes, params Entry[] entries) =>
        [.. new Grader(new HoledView(Source, holes)).Findings(new HandMadeVolume(kind, entries))];

    [Fact]
    public void A_file_whose_every_byte_is_held_is_whole()
    {
        FileFinding finding = Grade(HandMade.File("a", Extent.At(512, 700)), new ByteRange(2048, 512));
        Assert.Equal((Findings.Grade.Whole, 700L, 0), (finding.Grade, finding.HeldBytes, finding.Missing.Count));
    }

    [Fact]
    public void A_file_with_a_hole_is_holed_and_the_hole_is_told_in_file_offsets()
    {
        FileFinding finding = Grade(HandMade.File("a", Extent.At(4096, 1024), Extent.At(512, 1024)), new ByteRange(1024, 512));
        Assert.Equal(Findings.Grade.Holed, finding.Grade);
        Assert.Equal([new ByteRange(1536, 512)], finding.Missing);
        Assert.Equal((1536L, 512L), (finding.HeldBytes, finding.MissingBytes));
    }

    [Fact]
    public void A_file_of_which_nothing_is_held_is_only_named()
    {
        FileFinding finding = Grade(HandMade.File("a", Extent.At(512, 600)), new ByteRange(512, 1024));
        Assert.Equal((Findings.Grade.Named, 0L), (finding.Grade, finding.HeldBytes));
        Assert.Equal([new ByteRange(0, 600)], finding.Missing);
    }

    [Fact]
    public void An_empty_live_file_is_whole() => Assert.Equal(Findings.Grade.Whole, Grade(HandMade.File("a")).Grade);

    [Fact]
    public void Stretches_without_a_place_are_held_zeros() =>
        Assert.Equal((Findings.Grade.Whole, 5000L), (Grade(HandMade.File("a", Extent.Zeros(5000))).Grade, Grade(HandMade.File("a", Extent.Zeros(5000))).HeldBytes));

    [Fact]
    public void A_stretch_at_an_unknown_place_is_missing()
    {
        FileFinding finding = Grade(HandMade.File("a", Extent.At(0, 100), Extent.Unknown(50)));
        Assert.Equal(Findings.Grade.Holed, finding.Grade);
        Assert.Equal([new ByteRange(100, 50)], finding.Missing);
    }

    [Fact]
    public void A_deleted_file_at_a_guessed_place_is_only_named_though_the_bytes_are_held()
    {
        FileFinding finding = Grade(HandMade.DeletedFile("a", Extent.At(0, 100)) with { Certainty = Certainty.Guessed });
        Assert.Equal((Findings.Grade.Named, 0L), (finding.Grade, finding.HeldBytes));
        Assert.Throws<InvalidOperationException>(() => finding.TryRead(0, new byte[1]));
    }

    [Fact]
    public void A_live_file_at_a_guessed_place_is_doubtful() =>
        Assert.Equal(Findings.Grade.Doubtful, Grade(HandMade.File("a", Extent.At(0, 100)) with { Certainty = Certainty.Guessed }).Grade);

    [Fact]
    public void A_deleted_file_whose_place_is_known_is_whole() =>
        Assert.Equal(Findings.Grade.Whole, Grade(HandMade.DeletedFile("a", Extent.At(0, 100)) with { Certainty = Certainty.Likely }).Grade);

    [Fact]
    public void Content_that_cannot_be_read_is_only_named_and_says_why()
    {
        Entry entry = HandMade.File("a") with { Content = new UnreadableContent(100, "encrypted", [Extent.At(0, 100)]) };
        Assert.Equal(Findings.Grade.Named, Grade(entry).Grade);
        Assert.Contains("encrypted", Grade(entry).Notes);
    }

    [Fact]
    public void A_folder_has_no_grade() => Assert.Null(Grade(HandMade.Folder("a")).Grade);

    [Fact]
    public void Live_files_that_claim_the_same_bytes_are_both_doubtful()
    {
        FileFinding[] all = GradeAll("exFAT", [], HandMade.File("a", Extent.At(0, 1024)), HandMade.File("b", Extent.At(1000, 100)), HandMade.File("c", Extent.At(2048, 100)));
        Assert.Equal([Findings.Grade.Doubtful, Findings.Grade.Doubtful, Findings.Grade.Whole], all.Select(f => f.Grade));
        Assert.All(all[..2], finding => Assert.Contains(finding.Notes, note => note.StartsWith("24 bytes are claimed", StringComparison.Ordinal)));
    }

    [Fact]
    public void Two_names_of_one_file_share_their_bytes_in_peace()
    {
        Entry link = HandMade.File("a", Extent.At(0, 1024)) with { Number = 7 };
        FileFinding[] all = GradeAll("ext4", [], link, link with { Path = HandMade.At("b") }, HandMade.File("c", Extent.At(1024, 10)) with { Number = 8 });
        Assert.All(all, finding => Assert.Equal(Findings.Grade.Whole, finding.Grade));
    }

    [Fact]
    public void A_third_file_that_claims_the_bytes_of_a_linked_one_is_found()
    {
        Entry link = HandMade.File("a", Extent.At(0, 1024)) with { Number = 7 };
        FileFinding[] all = GradeAll("NTFS", [], link, link with { Path = HandMade.At("b") }, HandMade.File("c", Extent.At(512, 10)) with { Number = 8 });
        Assert.All(all, finding => Assert.Equal(Findings.Grade.Doubtful, finding.Grade));
    }

    [Fact]
    public void On_a_file_system_with_shared_blocks_sharing_says_nothing() =>
        Assert.All(GradeAll("APFS", [], HandMade.File("a", Extent.At(0, 1024)), HandMade.File("b", Extent.At(0, 1024))), f => Assert.Equal(Findings.Grade.Whole, f.Grade));

    // NIST CFTT, Active File Identification & Deleted File Recovery 1.1 (draft, 2009), DFR-CR-04 and DFR-RO-08, second-hand:
    // reused blocks are not delivered as the old file's; the length is kept and the hole documented.
    [Fact]
    public void Bytes_that_a_live_file_took_over_are_missing_from_the_deleted_one()
    {
        FileFinding[] all = GradeAll("FAT32", [], HandMade.DeletedFile("old", Extent.At(0, 1536)), HandMade.File("new", Extent.At(512, 512)));
        Assert.Equal((Findings.Grade.Holed, Findings.Grade.Whole), (all[0].Grade, all[1].Grade));
        Assert.Equal([new ByteRange(512, 512)], all[0].Missing);
        byte[] read = new byte[1536];
        Assert.False(all[0].TryRead(0, read));
        Assert.All(read[512..1024], b => Assert.Equal(0, b));
    }

    [Fact]
    public void Where_blocks_may_be_shared_a_live_owner_is_a_doubt_and_no_hole()
    {
        FileFinding[] all = GradeAll("APFS", [], HandMade.DeletedFile("old", Extent.At(0, 1536)), HandMade.File("new", Extent.At(512, 512)));
        Assert.Equal((Findings.Grade.Doubtful, 1536L), (all[0].Grade, all[0].HeldBytes));
    }

    [Fact]
    public void Two_deleted_names_of_one_file_share_their_bytes_in_peace()
    {
        Entry link = HandMade.DeletedFile("a", Extent.At(0, 1024)) with { Number = 7 };
        Assert.All(GradeAll("NTFS", [], link, link with { Path = HandMade.At("b") }), finding => Assert.Equal(Findings.Grade.Whole, finding.Grade));
    }

    [Fact]
    public void A_deleted_file_in_used_space_that_no_file_owns_is_doubtful()
    {
        var volume = new HandMadeVolume("FAT32", HandMade.DeletedFile("old", Extent.At(0, 1024))) { Used = [new UsageRun(new ByteRange(512, 512), Usage.Used)] };
        Assert.Equal(Findings.Grade.Doubtful, new Grader(Source).Findings(volume).Single().Grade);
    }

    // The same paper, DFR-RO-04: a block goes to no more than one recovered object.
    [Fact]
    public void Deleted_files_that_claim_the_same_bytes_are_doubtful() =>
        Assert.All(GradeAll("FAT32", [], HandMade.DeletedFile("a", Extent.At(0, 1024)), HandMade.DeletedFile("b", Extent.At(512, 1024))), f => Assert.Equal(Findings.Grade.Doubtful, f.Grade));

    [Fact]
    public void Missing_ranges_are_exactly_the_holes_mapped_to_file_offsets() =>
        Gen.Select(Gen.Int[0, 60].Array[1, 8], Gen.Bool.Array[64]).Sample((starts, holes) =>
        {
            Extent[] extents = [.. starts.Distinct().Select(start => Extent.At(start * 512, 512))];
            ByteRange[] lost = [.. Enumerable.Range(0, 64).Where(i => holes[i]).Select(i => new ByteRange(i * 512, 512))];
            FileFinding finding = Grade(HandMade.File("a", extents), lost);
            bool[] expected = [.. extents.SelectMany(extent => Enumerable.Repeat(holes[extent.Offset / 512], 512))];
            bool[] found = new bool[expected.Length];
            foreach (ByteRange hole in finding.Missing)
                Array.Fill(found, true, (int)hole.Offset, (int)hole.Length);
            return found.AsSpan().SequenceEqual(expected) && finding.HeldBytes == expected.Count(lostByte => !lostByte);
        });
}
