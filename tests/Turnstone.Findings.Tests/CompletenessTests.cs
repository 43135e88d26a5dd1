using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings.Tests;

public class CompletenessTests
{
    private static Completeness Of(params Entry[] entries)
    {
        var completeness = new Completeness();
        var view = new HoledView(new MemoryView(new byte[8192]), [new ByteRange(1024, 1024)]);
        foreach (FileFinding finding in new Grader(view).Findings(new HandMadeVolume("ext4", entries)))
            completeness.Add(finding);
        return completeness;
    }

    [Fact]
    public void A_folder_sums_its_own_files_and_those_below()
    {
        FolderCompleteness[] folders = [.. Of(
            HandMade.File("b/whole", Extent.At(0, 100)),
            HandMade.File("b/deep/holed", Extent.At(512, 1024)),
            HandMade.File("a/named", Extent.At(1024, 300)),
            HandMade.DeletedFile("a/gone", Extent.At(4096, 50)),
            HandMade.Folder("c")).Folders()];
        Assert.Equal(["", "a", "b", "b/deep", "c"], folders.Select(folder => folder.Folder.ToString()));
        Assert.Equal(new Tally { Whole = 1, Holed = 1, Named = 1, HeldBytes = 612, TotalBytes = 1424 }, folders[0].All);
        Assert.Equal(new Tally { Whole = 1, HeldBytes = 100, TotalBytes = 100 }, folders[2].Own);
        Assert.Equal(new Tally { Whole = 1, Holed = 1, HeldBytes = 612, TotalBytes = 1124 }, folders[2].All);
        Assert.Equal(1, folders[1].Deleted.Whole);
        Assert.Equal(default, folders[4].All);
    }

    [Fact]
    public void A_stream_counts_in_the_folder_of_its_file()
    {
        Entry stream = HandMade.File("a/photo.jpg/preview", Extent.At(0, 10)) with { Kind = EntryKind.Stream };
        Assert.Equal(["", "a"], Of(stream).Folders().Select(folder => folder.Folder.ToString()));
    }

    [Fact]
    public void A_very_deep_tree_is_summed_without_running_out_of_stack()
    {
        EntryPath path = Enumerable.Range(0, 50_000).Aggregate(EntryPath.Root, (folder, _) => folder["d"]);
        Completeness completeness = Of(HandMade.File("x", Extent.At(0, 10)) with { Path = path });
        Assert.Equal(10, completeness.Total().HeldBytes);
    }
}
