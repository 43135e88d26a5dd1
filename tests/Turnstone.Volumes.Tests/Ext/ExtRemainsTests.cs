using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>What comes out without a table that leads to it: deleted files, older states, folders that are not held.</summary>
[Trait("kind", "privileged")]
public sealed class ExtRemainsTests
{
    [Theory]
    [InlineData("removed", 0.9)]
    [InlineData("ext3", 0.6)]
    [InlineData("ext4", 0.6)]
    [InlineData("ext4-1k", 0.6)]
    [InlineData("inline", 0.6)]
    [InlineData("waiting", 0.6)]
    public void Deleted_files_that_still_stand_come_out_under_their_own_names(string variant, double share)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        ManifestLine[] standing = [.. outside.Manifest.Where(line => line is { Deleted: true, Type: "file", Proof: "bytes" })];
        ILookup<string, Entry> deleted = ExtFixture.Entries(disk).Where(e => e.Deleted).ToLookup(e => e.Path.ToString());
        int found = standing.Count(line => deleted[line.Path].Any(entry => entry.Digest(disk) == line.Sha256));
        TestContext.Current.TestOutputHelper?.WriteLine($"{variant}: {found} of {standing.Length} deleted files that still stand");
        Assert.True(found >= standing.Length * share, $"{found} of {standing.Length} deleted files came out");
    }

    [Theory]
    [MemberData(nameof(ExtFixture.All), MemberType = typeof(ExtFixture))]
    public void Nothing_deleted_is_more_than_a_guess_and_no_entry_comes_twice(string variant)
    {
        using ImageView disk = ExtFixture.Get(variant).Open();
        Entry[] entries = ExtFixture.Entries(disk);
        Assert.All(entries.Where(e => e.Deleted), e => Assert.Equal(Certainty.Guessed, e.Certainty));
        Assert.Empty(entries.GroupBy(e => (e.Path, e.Number, e.Deleted)).Where(same => same.Count() > 1).Select(same => same.Key.Path.ToString()));
    }

    [Theory]
    [InlineData("ext2")]
    [InlineData("ext4")]
    [InlineData("inline")]
    public void Files_whose_folders_are_not_held_stand_in_a_folder_of_our_own(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        byte[] bytes = File.ReadAllBytes(outside.Image);
        bytes.AsSpan(RootInodePlace(outside), 128).Clear();
        var headless = new MemoryView(bytes);
        Entry[] entries = [.. ExtFixture.Entries(headless).Where(e => !e.Deleted)];
        Assert.All(entries, e => Assert.Equal((Certainty.Guessed, "(folder not known)"), (e.Certainty, e.Path.Names[0])));
        HashSet<string?> digests = [.. entries.Where(e => e.Kind == EntryKind.File).Select(e => e.Digest(headless))];
        Assert.Empty(outside.LiveFiles.Where(line => !digests.Contains(line.Sha256)).Select(line => line.Path));
        Assert.Contains(entries, e => e.Path.ToString().EndsWith("/group-1/item 00001.csv", StringComparison.Ordinal));
    }

    [Fact]
    public void A_volume_taken_while_mounted_says_that_its_journal_was_followed()
    {
        using ImageView disk = ExtFixture.Get("waiting").Open();
        Assert.Contains(ExtFixture.Open(disk).Facts.Notes, note => note.Contains("not closed in order", StringComparison.Ordinal));
    }

    [Fact]
    public void Without_its_journal_such_a_volume_is_not_sure_of_anything()
    {
        using ImageView disk = ExtFixture.Get("waiting").Open();
        ByteRange[] journal = [.. ExtFixture.Open(disk).Skeleton().TakeLast(1)];
        var holed = new HoledView(disk, journal);
        Assert.DoesNotContain(ExtFixture.Entries(holed), e => e.Certainty == Certainty.Sure);
        Assert.Contains(ExtFixture.Open(holed).Facts.Notes, note => note.Contains("older state", StringComparison.Ordinal));
    }

    [Fact]
    public void An_inode_table_that_is_not_held_is_read_in_its_older_state_from_the_journal()
    {
        OutsideVolume outside = ExtFixture.Get("ext4");
        using ImageView disk = outside.Open();
        var holed = new HoledView(disk, [new ByteRange(RootInodePlace(outside) & ~0xFFF, 4096)]);
        Entry[] read = [.. ExtFixture.Entries(holed).Where(e => !e.Deleted)];
        Assert.NotEmpty(read);
        Assert.All(read, e => Assert.Equal((Certainty.Guessed, Origin.Journal), (e.Certainty, e.Origin)));
    }

    private static int RootInodePlace(OutsideVolume outside)
    {
        string[] words = Tool.Run("debugfs", "-R", "imap <2>", outside.Image).Split([' ', ',', '\n', '\t'], StringSplitOptions.RemoveEmptyEntries);
        int block = int.Parse(words[Array.IndexOf(words, "block", Array.IndexOf(words, "located")) + 1]);
        return (block * BlockSize(outside)) + Convert.ToInt32(words[^1].Trim(), 16);
    }

    private static int BlockSize(OutsideVolume outside)
    {
        using ImageView disk = outside.Open();
        return ExtFixture.Open(disk).Facts.ClusterBytes;
    }
}
