using System.Security.Cryptography;
using System.Text;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>Outside source: volumes that the Linux driver wrote and read back, places found by looking for the files' own blocks (tests/volumes/prebuilt/apfs.md).</summary>
public sealed class OutsideVolumeTests
{
    [Theory]
    [InlineData("plain")]
    [InlineData("features")]
    public void Every_live_file_has_the_digest_and_the_extents_of_the_manifest(string name)
    {
        RealVolume real = ApfsBench.Named(name);
        using ImageView view = real.Outside.Open();
        var files = ApfsBench.Single(view).Entries().Where(e => e is { Kind: EntryKind.File, Deleted: false }).ToDictionary(e => e.Path.ToString());
        foreach (ManifestLine line in real.Outside.LiveFiles)
        {
            Assert.True(files.Remove(line.Path, out Entry? entry), line.Path);
            Assert.Equal((line.Size, line.Sha256, Certainty.Sure, Origin.Table), (entry.Size, entry.Digest(view), entry.Certainty, entry.Origin));
            Assert.Equal(line.Modified ?? entry.Times.Modified!.Value.ToUnixTimeSeconds(), entry.Times.Modified!.Value.ToUnixTimeSeconds());
            if (line.Proof == "bytes")
                Assert.Equal(ManifestChecks.Extents(line), entry.Content!.Extents);
        }

        Assert.Empty(files);
    }

    [Theory]
    [InlineData("plain")]
    [InlineData("features")]
    public void Folders_links_and_attributes_are_those_of_the_manifest(string name)
    {
        RealVolume real = ApfsBench.Named(name);
        using ImageView view = real.Outside.Open();
        Assert.Equal(
            real.Outside.Manifest.Where(l => l is { Deleted: false, Type: not "file" }).Select(l => $"{l.Type} {l.Path} {l.Sha256}").Order(StringComparer.Ordinal),
            ApfsBench.Single(view).Entries().Where(e => e is { Deleted: false, Kind: not EntryKind.File }).Select(e => $"{Word(e.Kind)} {e.Path} {e.Digest(view)}").Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Deleted_files_come_back_from_older_checkpoints()
    {
        using ImageView view = ApfsBench.Plain.Outside.Open();
        List<Entry> deleted = [.. ApfsBench.Single(view).Entries().Where(e => e is { Deleted: true, Kind: EntryKind.File })];
        List<ManifestLine> gone = [.. ApfsBench.Plain.Outside.Manifest.Where(l => l.Deleted)];
        foreach (ManifestLine line in gone)
            Assert.Contains(deleted, e => e.Path.ToString() == line.Path && e.Digest(view) == line.Sha256);
        Assert.Equal(gone.Count, deleted.Count);
        Assert.All(deleted, e => Assert.Equal((Certainty.Guessed, Origin.Journal), (e.Certainty, e.Origin)));
    }

    [Fact]
    public void What_only_a_snapshot_holds_comes_as_deleted_and_sure()
    {
        using ImageView view = ApfsBench.Features.Outside.Open();
        Volume volume = ApfsBench.Single(view);
        Assert.Contains(volume.Facts.Notes, n => n.Contains("'first'", StringComparison.Ordinal));
        ILookup<string, Entry> kept = volume.Entries().Where(e => e is { Deleted: true, Certainty: Certainty.Sure, Origin: Origin.Journal }).ToLookup(e => e.Path.ToString());
        foreach (ManifestLine line in ApfsBench.Features.Outside.Manifest.Where(l => l.Deleted))
        {
            Entry entry = Assert.Single(kept[line.Path]);
            Assert.Equal((line.Type, line.Type == "dir" ? null : line.Sha256), (Word(entry.Kind), entry.Digest(view)));
        }
    }

    [Fact]
    public void Names_of_one_file_share_its_number()
    {
        using ImageView view = ApfsBench.Features.Outside.Open();
        string[] names = ["kept/third.bin", "links/first.bin", "links/second.bin"];
        Assert.Single(ApfsBench.Single(view).Entries().Where(e => names.Contains(e.Path.ToString())).GroupBy(e => e.Number), same => same.Count() == 3);
    }

    [Fact]
    public void A_link_leads_where_the_driver_says()
    {
        using ImageView view = ApfsBench.Features.Outside.Open();
        Entry link = Assert.Single(ApfsBench.Single(view).Entries(), e => e.Path.ToString() == "links/a link");
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes("../kept/same.bin"))), link.Digest(view));
    }

    private static string Word(EntryKind kind) => kind switch
    {
        EntryKind.File => "file",
        EntryKind.Folder => "dir",
        EntryKind.Link => "link",
        EntryKind.Stream => "stream",
        EntryKind.Other => "other",
    };
}
