using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>What the outside driver does not write; the layout is Apple's, Technical Note TN1150, 2004 (from memory).</summary>
public class RareStructures
{
    [Fact]
    public void A_file_gives_its_bytes_times_and_flags()
    {
        var tiny = new TinyVolume();
        tiny.AddFile(2, "locked", [1, 2, 3], data => (data[3], data[56]) = (1, 0x40));
        byte[] bytes = tiny.Build();

        Entry entry = Assert.Single(Prebuilt.Open(new MemoryView(bytes))!.Entries());

        Assert.Equal(EntryAttributes.ReadOnly | EntryAttributes.Hidden, entry.Attributes);
        // 3,855,168,000 seconds after the beginning of 1904
        Assert.Equal(new DateTimeOffset(2026, 3, 1, 0, 0, 0, TimeSpan.Zero), entry.Times.Modified);
        byte[] content = new byte[3];
        Assert.True(entry.Content!.TryRead(new MemoryView(bytes), 0, content));
        Assert.Equal([1, 2, 3], content);
    }

    [Fact]
    public void Entries_of_a_folder_with_two_names_are_listed_once_and_both_names_are()
    {
        var tiny = new TinyVolume();
        uint store = tiny.AddFolder(2, ".HFS+ Private Directory Data\r");
        uint shared = tiny.AddFolder(store, "dir_50");
        tiny.AddFile(shared, "inside", [7]);
        uint other = tiny.AddFolder(2, "other");
        tiny.AddFile(2, "a first name", [], TinyVolume.LinkTo("fdrp", "MACS", 50));
        tiny.AddFile(other, "a second name", [], TinyVolume.LinkTo("fdrp", "MACS", 50));

        Assert.Equal(["a first name Folder", "a first name/inside File", "other Folder", "other/a second name Folder"],
            tiny.Open().Entries().Select(e => $"{e.Path} {e.Kind}").Order(StringComparer.Ordinal));
    }

    [Fact]
    public void A_folder_that_is_kept_for_links_and_has_none_stays_where_it_is()
    {
        var tiny = new TinyVolume();
        uint store = tiny.AddFolder(2, ".HFS+ Private Directory Data\r");
        tiny.AddFile(tiny.AddFolder(store, "dir_51"), "inside", [7]);

        Assert.Contains(tiny.Open().Entries(), e => e.Path.Names.SequenceEqual([".HFS+ Private Directory Data\r", "dir_51", "inside"]));
    }

    [Fact]
    public void A_hard_link_to_a_file_that_is_not_there_is_no_whole_file()
    {
        var tiny = new TinyVolume();
        tiny.AddFolder(2, "\0\0\0\0HFS+ Private Data");
        tiny.AddFile(2, "link", [], TinyVolume.LinkTo("hlnk", "hfs+", 99));
        var disk = new MemoryView(tiny.Build());

        Entry entry = Assert.Single(Prebuilt.Open(disk)!.Entries());

        Assert.False(Prebuilt.IsAvailable(entry, disk));
        Assert.Contains("its size is not known", Assert.Single(entry.Notes), StringComparison.Ordinal);
    }

    [Fact]
    public void Names_stay_as_they_are_hostile_ones_too()
    {
        var tiny = new TinyVolume();
        string[] names = ["..", "a/b", "\u202Eexe.jpg", "<script>", "\uD800", "line\nbreak"];
        foreach (string name in names)
            tiny.AddFile(2, name, []);

        Assert.Equal(names.Order(StringComparer.Ordinal), tiny.Open().Entries().Select(e => e.Path.Name).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Folders_that_are_inside_each_other_end_in_a_stand_in_folder()
    {
        var tiny = new TinyVolume();
        uint a = tiny.AddFolder(31, "a", 30);
        tiny.AddFolder(30, "b", 31);
        tiny.AddFile(a, "file", [1]);

        Entry file = Assert.Single(tiny.Open().Entries(), e => e.Kind == EntryKind.File);

        Assert.Equal((Certainty.Guessed, "lost+found"), (file.Certainty, file.Path.Names[0]));
    }

    [Fact]
    public void A_file_of_a_folder_that_is_not_there_is_named_with_its_folder_number()
    {
        var tiny = new TinyVolume();
        tiny.AddFile(77, "file", [1]);

        Entry file = Assert.Single(tiny.Open().Entries());

        Assert.Equal(("lost+found/folder 77/file", Certainty.Guessed), (file.Path.ToString(), file.Certainty));
        Assert.Equal(["the way to its folder (number 77) is not held"], file.Notes);
    }

    [Fact]
    public void A_run_past_the_end_of_the_volume_is_unknown_and_said_so()
    {
        var tiny = new TinyVolume();
        tiny.AddFile(2, "far", [], data => TinyVolume.ForkOf(8192, 2, (40, 1), (TinyVolume.Blocks, 1)).CopyTo(data, 88));

        Entry entry = Assert.Single(tiny.Open().Entries());

        Assert.Equal([Extent.At(40 * 4096, 4096), Extent.Unknown(4096)], entry.Content!.Extents!);
        Assert.Equal((Certainty.Likely, "a run of blocks lies outside the volume"), (entry.Certainty, Assert.Single(entry.Notes)));
    }

    [Fact]
    public void A_size_beyond_the_volume_is_not_believed()
    {
        var tiny = new TinyVolume();
        tiny.AddFile(2, "huge", [], data => TinyVolume.ForkOf(long.MaxValue, uint.MaxValue, (40, 1)).CopyTo(data, 88));
        var disk = new MemoryView(tiny.Build());

        Entry entry = Assert.Single(Prebuilt.Open(disk)!.Entries());

        Assert.Equal(Certainty.Guessed, entry.Certainty);
        Assert.False(Prebuilt.IsAvailable(entry, disk));
    }

    [Fact]
    public void One_bent_record_does_not_hurt_its_neighbours()
    {
        var tiny = new TinyVolume { Bend = bytes => bytes[IndexOf(bytes, "\0m\0i\0d\0d\0l\0e"u8) - 7] = 0xEE };
        foreach (string name in (string[])["first", "last", "middle"])
            tiny.AddFile(2, name, [1]);

        Assert.Superset(new HashSet<string> { "first", "last" }, tiny.Open().Entries().Where(e => e.Certainty == Certainty.Sure).Select(e => e.Path.Name).ToHashSet());
    }

    private static int IndexOf(byte[] bytes, ReadOnlySpan<byte> what) => bytes.AsSpan().IndexOf(what);
}
