using System.Buffers.Binary;
using System.Text;
using Turnstone.Media;
using Turnstone.Volumes.Ntfs;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>Single structures: sense, nonsense, and bytes that are not held.</summary>
public sealed class StructureTests
{
    [Fact]
    public void Any_bytes_get_an_answer_from_every_parser_and_never_an_exception() =>
        Gen.Byte.Array[0, 1200].Sample(bytes =>
            NtfsBootSector.Read(bytes) is not null && FileName.Read(bytes) is not null && StandardInformation.Read(bytes) is not null
            && ReparsePoint.Read(bytes) is not null && AttributeList.Records(bytes).Count <= bytes.Length / 26
            && MultiSector.Restore(bytes, "FILE"u8, Strides.AllGood) is not null);

    [Theory]
    [InlineData(0x0B, 3, "sector size")]
    [InlineData(0x0D, 3, "cluster")]
    [InlineData(0x0D, 0x90, "cluster")]
    [InlineData(0x2F, 0x7F, "sectors")]
    [InlineData(0x37, 0x01, "$MFT ")]
    [InlineData(0x3F, 0x80, "$MFTMirr")]
    [InlineData(0x40, 0x80, "record size")]
    [InlineData(0x44, 3, "index block")]
    [InlineData(0x03, 0, "NTFS")]
    public void A_boot_sector_with_an_impossible_field_is_damaged_there(int at, byte value, string what)
    {
        byte[] sector = Boot();
        Assert.IsType<Parsed<NtfsBootSector>.Value>(NtfsBootSector.Read(sector));
        sector[at] = value;
        Assert.Contains(what, Assert.IsType<Parsed<NtfsBootSector>.Damaged>(NtfsBootSector.Read(sector)).What);
    }

    // Values above 0x80 stand for a power of two: Linux kernel 6.1, fs/ntfs3/super.c, true_sectors_per_clst.
    [Fact]
    public void Clusters_of_128_KiB_and_more_are_written_as_a_negative_power()
    {
        byte[] sector = Boot();
        sector[0x0D] = 0xF8;
        BinaryPrimitives.WriteInt64LittleEndian(sector.AsSpan(0x38), 2);
        Assert.Equal(128 << 10, NtfsBootSector.Read(sector).OrNone!.ClusterBytes);
    }

    [Fact]
    public void A_torn_stride_costs_its_own_bytes_only()
    {
        byte[] record = Protected(2048);
        record[1534] ^= 1;
        var strides = Assert.IsType<Parsed<Strides>.Value>(MultiSector.Restore(record, "FILE"u8, Strides.AllGood)).Item;
        Assert.Equal([new ByteRange(1024, 512)], strides.Holes(0, 2048));
        Assert.Equal((4, 4, 0), (strides.GoodPrefix(1020, 100), strides.GoodPrefix(2000, 4), strides.GoodPrefix(1024, 8)));
        Assert.Equal(0x5555, BinaryPrimitives.ReadUInt16LittleEndian(record.AsSpan(510)));
    }

    [Fact]
    public void A_record_whose_first_stride_is_not_held_is_unknown_and_one_that_is_torn_there_is_damaged()
    {
        Assert.IsType<Parsed<Strides>.NotHeld>(MultiSector.Restore(Protected(1024), "FILE"u8, Strides.AllGood.Without(0)));
        byte[] torn = Protected(1024);
        torn[511] ^= 1;
        Assert.IsType<Parsed<Strides>.Damaged>(MultiSector.Restore(torn, "FILE"u8, Strides.AllGood));
    }

    [Fact]
    public void A_link_shows_what_a_person_typed_or_else_what_the_system_follows()
    {
        Assert.Equal("D:\\x", ReparsePoint.Read(Junction("\\??\\D:\\x", "D:\\x")).OrNone!.Target);
        Assert.Equal("\\??\\D:\\x", ReparsePoint.Read(Junction("\\??\\D:\\x", "")).OrNone!.Target);
        byte[] cut = Junction("\\??\\D:\\x", "D:\\x");
        Assert.IsType<Parsed<ReparsePoint>.Damaged>(ReparsePoint.Read(cut.AsSpan(0, cut.Length - 2)));
    }

    // 1601-01-01 counts from 0; 11,644,473,600 s before 1970: Linux kernel 6.1, fs/ntfs3/ntfs_fs.h, _SECONDS_1601_1970.
    [Fact]
    public void Times_count_from_1601_and_nonsense_is_no_time()
    {
        var bytes = new byte[32];
        BinaryPrimitives.WriteInt64LittleEndian(bytes, (11_644_473_600L + 1_700_000_000) * 10_000_000);
        BinaryPrimitives.WriteInt64LittleEndian(bytes.AsSpan(8), long.MaxValue);
        BinaryPrimitives.WriteInt64LittleEndian(bytes.AsSpan(16), -1);
        EntryTimes times = FileTimes.Read(bytes);
        Assert.Equal((1_700_000_000, null, null, null), (times.Created!.Value.ToUnixTimeSeconds(), times.Modified, times.Changed, times.Accessed));
    }

    private static byte[] Boot()
    {
        var sector = new byte[512];
        "NTFS    "u8.CopyTo(sector.AsSpan(3));
        BinaryPrimitives.WriteUInt16LittleEndian(sector.AsSpan(0x0B), 512);
        sector[0x0D] = 8;
        BinaryPrimitives.WriteInt64LittleEndian(sector.AsSpan(0x28), 131_071);
        BinaryPrimitives.WriteInt64LittleEndian(sector.AsSpan(0x30), 4);
        BinaryPrimitives.WriteInt64LittleEndian(sector.AsSpan(0x38), 8191);
        sector[0x40] = 0xF6;
        sector[0x44] = 0xF4;
        return sector;
    }

    private static byte[] Protected(int length)
    {
        var record = new byte[length];
        "FILE"u8.CopyTo(record);
        BinaryPrimitives.WriteUInt16LittleEndian(record.AsSpan(4), 0x30);
        BinaryPrimitives.WriteUInt16LittleEndian(record.AsSpan(6), (ushort)(1 + (length / 512)));
        BinaryPrimitives.WriteUInt16LittleEndian(record.AsSpan(0x30), 7);
        record.AsSpan(0x32, length / 256).Fill(0x55);
        for (int end = 510; end < length; end += 512)
            BinaryPrimitives.WriteUInt16LittleEndian(record.AsSpan(end), 7);
        return record;
    }

    private static byte[] Junction(string substitute, string shown)
    {
        byte[] a = Encoding.Unicode.GetBytes(substitute), b = Encoding.Unicode.GetBytes(shown);
        var head = new byte[16];
        BinaryPrimitives.WriteUInt32LittleEndian(head, 0xA000_0003);
        BinaryPrimitives.WriteUInt16LittleEndian(head.AsSpan(10), (ushort)a.Length);
        BinaryPrimitives.WriteUInt16LittleEndian(head.AsSpan(12), (ushort)a.Length);
        BinaryPrimitives.WriteUInt16LittleEndian(head.AsSpan(14), (ushort)b.Length);
        return [.. head, .. a, .. b];
    }
}
