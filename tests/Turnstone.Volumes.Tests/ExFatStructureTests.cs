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
    public void Any_bytes_get_an_answer_and_never_an_exception() =>
        Gen.Byte.Array[0, 700].Sample(bytes => EntrySet.Read(bytes, UpCaseTable.Plain) is not null && ExFatBootSector.Read(bytes) is not null);
}
