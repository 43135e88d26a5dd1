using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;
using Turnstone.Volumes.ExFat;

namespace Turnstone.Volumes.Tests;

public sealed class ExFatStructureTests
{
    /// <summary>A set that fsck.exfat accepts as clean, and whose sum or hash it reports when either is changed.</summary>
    private const string Worked =
        "8502bd4c200000005c643f5c5c643f5c5c643f5c000080808000000000000000" +
        "c003000658250000050000000000000000000000060000000500000000000000" +
        "c100410062002e00740078007400000000000000000000000000000000000000";

    [Fact]
    public void A_worked_set_has_its_checksum_and_hash()
    {
        byte[] set = Convert.FromHexString(Worked);
        Assert.Equal(0x4CBD, EntrySet.Checksum(set));
        Assert.Equal(0x2558, EntrySet.HashOfName(UpCaseTable.Plain.Upper("Ab.txt")));
    }

    [Fact]
    public void A_worked_set_reads_as_its_file()
    {
        FoundEntry entry = EntrySet.Read(Convert.FromHexString(Worked), UpCaseTable.Plain).OrNone!;
        Assert.Equal(("Ab.txt", 5L, 6u, true, false), (entry.Name, entry.Size, entry.FirstCluster, entry.InARow, entry.Deleted));
        Assert.Equal(EntryAttributes.Archive, entry.Attributes);
        Assert.Equal(Certainty.Sure, entry.Certainty);
    }

    [Fact]
    public void A_deleted_set_is_checked_as_if_it_were_in_use()
    {
        byte[] set = Convert.FromHexString(Worked);
        foreach (int slot in (int[])[0, 32, 64])
            set[slot] &= 0x7F;
        FoundEntry entry = EntrySet.Read(set, UpCaseTable.Plain).OrNone!;
        Assert.True(entry.Deleted);
        Assert.Equal(Certainty.Sure, entry.Certainty);
    }

    [Fact]
    public void One_changed_bit_is_seen()
    {
        for (int bit = 0; bit < Worked.Length * 4; bit++)
        {
            byte[] set = Convert.FromHexString(Worked);
            set[bit / 8] ^= (byte)(1 << (bit % 8));
            FoundEntry? entry = EntrySet.Read(set, UpCaseTable.Plain).OrNone;
            Assert.False(entry is { Certainty: Certainty.Sure }, $"bit {bit} changed and the set is still sure");
        }
    }

    [Fact]
    public void The_recommended_upcase_table_has_its_published_checksum()
    {
        // Microsoft, exFAT file system specification, section 7.2.5.1: 5836 bytes, checksum E619D30D; exfatprogs writes that table.
        byte[] table = Table();
        Assert.Equal(5836, table.Length);
        Assert.Equal(0xE619D30D, BootChecksum.Add(0, table));
        Assert.Equal("ÀÉ ΣΣΩ ДЖ ÿ".ToUpperInvariant().Replace('ÿ', 'Ÿ'), UpCaseTable.Read(table).Upper("àé σςω дж ÿ"));
    }

    [Fact]
    public void A_truncated_upcase_table_leaves_the_rest_as_it_is()
    {
        Assert.Equal("ABC ÿ", UpCaseTable.Read(Table().AsSpan(0, 300)).Upper("abc ÿ"));
        Gen.Byte.Array[0, 600].Sample(bytes => UpCaseTable.Read(bytes).Upper("any name").Length == 8);
    }

    private static byte[] Table()
    {
        using ImageView image = OutsideVolume.Make("make-exfat.sh", "512", "4096").Open();
        var volume = (ClusterVolume)Disk.Read(image).Volumes[0];
        var chains = new ChainReader(new AllocationTable(volume.Part, volume.Table));
        var table = new byte[5836];
        Assert.True(image.TryRead(volume.Heap.Place(volume.SystemChains(chains).Last().Runs[0]).Offset, table));
        return table;
    }

    [Fact]
    public void Any_bytes_get_an_answer_and_never_an_exception() =>
        Gen.Byte.Array[0, 700].Sample(bytes => EntrySet.Read(bytes, UpCaseTable.Plain) is not null && ExFatBootSector.Read(bytes) is not null);
}
