using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;
using Turnstone.Volumes.Fat;

namespace Turnstone.Volumes.Tests;

/// <summary>A real FAT16 volume with chosen entries of its table or folders bent.</summary>
public sealed class HostileClusterTests
{
    private static readonly OutsideVolume s_outside = OutsideVolume.Make("make-fat.sh", "16");

    [Fact]
    public void A_chain_that_loops_ends_and_is_named()
    {
        Entry entry = Bent("media/clip 1.mov", (table, runs, view) => table(view, runs[0].First + 2, runs[0].First)).Single(e => e.Path.ToString() == "media/clip 1.mov");
        Assert.Equal(Certainty.Guessed, entry.Certainty);
        Assert.Contains(entry.Notes, note => note.Contains("comes back"));
        Assert.Equal(ExtentKind.Unknown, entry.Content!.Extents![^1].Kind);
    }

    [Fact]
    public void A_chain_that_ends_too_early_leaves_the_rest_unknown()
    {
        Entry entry = Bent("media/clip 1.mov", (table, runs, view) => table(view, runs[0].First + 2, 0xFFFF)).Single(e => e.Path.ToString() == "media/clip 1.mov");
        Assert.Equal(Certainty.Guessed, entry.Certainty);
        Assert.Equal(3L * 2048, entry.Content!.Extents![0].Length);
        Assert.Equal(ExtentKind.Unknown, entry.Content.Extents[1].Kind);
    }

    [Fact]
    public void Two_files_with_the_same_clusters_are_both_doubted()
    {
        uint other = First("media/clip 2.mov");
        Entry[] entries = Bent("media/clip 1.mov", (table, runs, view) => table(view, runs[0].First, other));
        Assert.All(entries.Where(e => e.Path.ToString() is "media/clip 1.mov" or "media/clip 2.mov"), e => Assert.NotEqual(Certainty.Sure, e.Certainty));
        Assert.Contains(entries.Single(e => e.Path.ToString() == "media/clip 2.mov").Notes, note => note.Contains("another entry claims"));
    }

    [Fact]
    public void Where_only_one_table_is_bent_the_other_one_is_followed()
    {
        Entry entry = Bent("media/clip 1.mov", (_, runs, view) => Table(view, runs[0].First + 2, 0, copies: 1)).Single(e => e.Path.ToString() == "media/clip 1.mov");
        ManifestLine line = s_outside.LiveFiles.Single(l => l.Path == "media/clip 1.mov");
        Assert.Equal(ManifestChecks.Extents(line), entry.Content!.Extents);
        Assert.Equal(Certainty.Likely, entry.Certainty);
        Assert.Contains(entry.Notes, note => note.Contains("copies"));
    }

    [Fact]
    public void Where_a_sector_of_the_first_table_is_not_held_the_second_one_serves()
    {
        using ImageView image = s_outside.Open();
        FatBootSector boot = Boot(image);
        var holed = new HoledView(image, [new ByteRange(boot.ReservedSectors * boot.SectorBytes, boot.FatSectors * boot.SectorBytes)]);
        ManifestChecks.LiveFilesEqual(s_outside, holed, Disk.Read(holed).Volumes[0].Entries());
    }

    [Theory]
    [InlineData("deep/level 0/level 1", "deep/level 0")] // an ancestor
    [InlineData("deep/level 0", "deep/level 0")] // itself
    [InlineData("deep/level 0/level 1", "media")] // another folder
    public void A_folder_that_holds_itself_an_ancestor_or_another_ends_there(string folder, string target)
    {
        Entry[] entries = PointTo(folder, First(target));
        Assert.True(entries.Length < 1000);
        Assert.Equal(entries.Length, entries.Select(e => e.Path.ToString() + e.Deleted + e.Number).Distinct().Count());
    }

    [Fact]
    public void Names_of_every_hostile_kind_come_through_unchanged()
    {
        using ImageView image = s_outside.Open();
        FatBootSector boot = Boot(image);
        string[] names = ["../../etc", "a/b", "tab\tbell\a", "\ud800 alone", new string('x', 255), "<b>&", "CON"];
        var slots = new List<byte>();
        foreach ((string name, int i) in names.Select((n, i) => (n, i)))
            slots.AddRange(Slots(name, $"N{i}"));
        PatchedView view = new PatchedView(image).With(boot.RootStart, [.. slots, .. new byte[32]]);
        Assert.Equal(names, Disk.Read(view).Volumes[0].Entries().Where(e => e.Origin == Origin.Table).Select(e => e.Path.Name));
    }

    private static byte[] Slots(string name, string shortName)
    {
        byte[] letters = [.. System.Text.Encoding.ASCII.GetBytes(shortName.PadRight(11))];
        int[] offsets = [1, 3, 5, 7, 9, 14, 16, 18, 20, 22, 24, 28, 30];
        int parts = (name.Length + 12) / 13;
        var bytes = new byte[(parts + 1) * 32];
        for (int part = 0; part < parts; part++)
        {
            Span<byte> slot = bytes.AsSpan((parts - 1 - part) * 32, 32);
            (slot[0], slot[11], slot[13]) = ((byte)((part + 1) | (part == parts - 1 ? 0x40 : 0)), 0x0F, ShortEntry.Checksum(letters));
            for (int i = 0; i < 13; i++)
            {
                int at = (part * 13) + i;
                ushort unit = at < name.Length ? name[at] : at == name.Length ? (ushort)0 : (ushort)0xFFFF;
                System.Buffers.Binary.BinaryPrimitives.WriteUInt16LittleEndian(slot[offsets[i]..], unit);
            }
        }

        letters.CopyTo(bytes.AsSpan(parts * 32));
        bytes[(parts * 32) + 11] = 0x20;
        return bytes;
    }

    private static FatBootSector Boot(ISectorView view) => view.Parse(0, 512, FatBootSector.Read).OrNone!;

    private static uint First(string path)
    {
        using ImageView image = s_outside.Open();
        return (uint)Disk.Read(image).Volumes[0].Entries().Single(e => !e.Deleted && e.Path.ToString() == path).Number!.Value;
    }

    private static void Table(PatchedView view, uint cluster, uint value, int copies)
    {
        foreach (ByteRange copy in Boot(view).Layout().Copies.Take(copies))
            view.With(copy.Offset + (cluster * 2), (byte)value, (byte)(value >> 8));
    }

    private static Entry[] Bent(string path, Action<Action<PatchedView, uint, uint>, IReadOnlyList<ClusterRun>, PatchedView> bend)
    {
        using ImageView image = s_outside.Open();
        var view = new PatchedView(image);
        uint first = First(path);
        bend((v, cluster, value) => Table(v, cluster, value, copies: 2), [new ClusterRun(first, 1)], view);
        return [.. Disk.Read(view).Volumes[0].Entries()];
    }

    /// <summary>Changes the first cluster in a folder's own entry.</summary>
    private static Entry[] PointTo(string folder, uint cluster)
    {
        using ImageView image = s_outside.Open();
        FatBootSector boot = Boot(image);
        string parent = Path.GetDirectoryName(folder)!, name = Path.GetFileName(folder);
        ByteRange place = boot.Heap().Place(new ClusterRun(First(parent.Length == 0 ? folder : parent), 1));
        if (parent.Length == 0)
            place = new ByteRange(boot.RootStart, boot.RootBytes);
        var bytes = new byte[place.Length];
        Assert.True(image.TryRead(place.Offset, bytes));
        uint own = First(folder);
        int slot = Enumerable.Range(0, bytes.Length / 32).First(i => bytes[i * 32] != '.' && bytes[(i * 32) + 11] == 0x10 && ShortEntry.FirstCluster(bytes.AsSpan(i * 32, 32)) == own);
        Assert.NotEmpty(name);
        return [.. Disk.Read(new PatchedView(image).With(place.Offset + (slot * 32) + 26, (byte)cluster, (byte)(cluster >> 8))).Volumes[0].Entries()];
    }
}
