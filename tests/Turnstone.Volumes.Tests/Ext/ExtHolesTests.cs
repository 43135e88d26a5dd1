using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>Volumes read through holes: nothing is invented, nothing that can be had is left out.</summary>
[Trait("kind", "privileged")]
public sealed class ExtHolesTests
{
    private static readonly double[] Shares = [0.001, 0.01, 0.05, 0.15, 0.3];

    public static TheoryData<string> All => [.. ExtFixture.Variants.Where(v => v != "waiting")];

    /// <summary>Those whose superblock and descriptors lie at the volume's start.</summary>
    public static TheoryData<string> Plain => [.. ExtFixture.Variants.Where(v => v is not ("waiting" or "meta-bg"))];

    [Theory]
    [MemberData(nameof(All))]
    public void What_is_called_whole_has_its_own_bytes_and_nothing_sure_is_invented(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        ILookup<string, ManifestLine> lines = outside.Manifest.Where(line => !line.Deleted).ToLookup(line => line.Path);
        foreach (HoledView holed in Holed(disk))
        {
            foreach (Entry entry in ExtFixture.Entries(holed).Where(e => e.Certainty != Certainty.Guessed))
            {
                string path = entry.Path.ToString();
                Assert.True(path == "lost+found" || lines.Contains(path), $"{variant}: invented {path}, {entry.Certainty}");
                Assert.False(entry.Deleted);
                if (entry.Digest(holed) is { } digest)
                    Assert.Equal((path, Assert.Single(lines[path]).Sha256), (path, digest));
            }
        }
    }

    [Theory]
    [MemberData(nameof(Plain))]
    public void A_file_is_whole_when_its_bytes_and_all_that_leads_to_them_are_held(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        using ImageView disk = outside.Open();
        MetadataPaths paths = MetadataPaths.Of(outside);
        int asked = 0;
        foreach (HoledView holed in Holed(disk))
        {
            ILookup<string, Entry> read = ExtFixture.Entries(holed).Where(e => !e.Deleted).ToLookup(e => e.Path.ToString());
            foreach (ManifestLine line in outside.LiveFiles.Where(line => paths.IsHeld(line.Path, holed)))
            {
                Entry entry = Assert.Single(read[line.Path]);
                Assert.Equal((line.Path, line.Sha256, Certainty.Sure), (line.Path, entry.Digest(holed), entry.Certainty));
                asked++;
            }
        }

        Assert.True(asked > 1000, $"only {asked} files had all that they need: the holes are too many to show anything");
    }

    private static IEnumerable<HoledView> Holed(ImageView disk) =>
        Shares.Select((share, seed) => new HoledView(disk, RandomHoles.Of(disk.Length, new Random(seed), share)));
}
