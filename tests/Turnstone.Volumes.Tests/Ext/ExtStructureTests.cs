using System.Text;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Ext;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>Single structures against published values, and against any bytes.</summary>
public sealed class ExtStructureTests
{
    [Fact]
    public void Crc32c_has_its_published_check_value() =>
        Assert.Equal(0xE306_9283, ~ExtSums.Crc32C(ExtSums.Start, "123456789"u8)); // RFC 3720 names the polynomial; check value: catalogue of parametrised CRC algorithms, CRC-32/ISCSI (from memory)

    [Fact]
    public void Crc32c_of_zeros_is_that_of_the_standard() =>
        Assert.Equal(0x8A91_36AA, ~ExtSums.Crc32C(ExtSums.Start, new byte[32])); // RFC 3720, B.4: 32 bytes of zeros (from memory)

    [Fact]
    public void Crc16_has_its_published_check_value() =>
        Assert.Equal(0x4B37, ExtSums.Crc16(0xFFFF, "123456789"u8)); // catalogue of parametrised CRC algorithms, CRC-16/MODBUS (from memory)

    [Fact]
    public void A_sum_over_parts_is_the_sum_over_the_whole() =>
        Gen.Byte.Array[0, 100].Select(Gen.Byte.Array[0, 100]).Sample((a, b) =>
            ExtSums.Crc32C(ExtSums.Crc32C(ExtSums.Start, a), b) == ExtSums.Crc32C(ExtSums.Start, [.. a, .. b]));

    [Fact]
    public void Copies_stand_in_groups_1_and_the_powers_of_3_5_and_7() =>
        Assert.Equal([1, 3, 5, 7, 9, 25, 27, 49, 81, 125, 243, 343], ExtLayout.SparseGroups().Take(12)); // Linux kernel 6.1 documentation, filesystems/ext4, 'Layout'

    [Theory]
    [InlineData("plain.txt", "plain.txt")]
    [InlineData("Grüße 😀", "Grüße 😀")]
    [InlineData("back\\slash\nline", "back\\slash\nline")]
    public void A_name_in_utf8_stays_as_it_is(string name, string shown) => Assert.Equal(shown, ExtNames.Show(Encoding.UTF8.GetBytes(name)));

    [Fact]
    public void Bytes_that_are_not_utf8_show_as_an_escape() => Assert.Equal("gr\u241BFC\u241BDFe", ExtNames.Show([(byte)'g', (byte)'r', 0xFC, 0xDF, (byte)'e']));

    [Fact]
    public void Two_names_never_show_alike() => 
        Gen.OneOf(Gen.Byte, Gen.Int[0, 4].Select(i => (byte)("\u241BFC"u8[i]))).Array[1, 12].Sample(name => Back(ExtNames.Show(name)).SequenceEqual(name));

    [Fact]
    public void Any_bytes_are_a_superblock_or_not_and_never_an_exception() =>
        Gen.Byte.Array[0, 1024].Sample(bytes => ExtSuperblock.Read(bytes) is not null);

    [Fact]
    public void Any_bytes_with_the_magic_open_or_not_and_never_an_exception() =>
        Gen.Byte.Array[8192].Sample(bytes =>
        {
            (bytes[1024 + 0x38], bytes[1024 + 0x39], bytes[1024 + 0x19], bytes[1024 + 0x1A], bytes[1024 + 0x1B]) = (0x53, 0xEF, 0, 0, 0);
            bytes[1024 + 0x18] %= 7;
            return ExtFixture.Entries(new MemoryView(bytes)).Length < bytes.Length;
        });

    [Fact]
    public void Features_that_are_not_known_are_named_and_nothing_is_read()
    {
        byte[] bytes = File.ReadAllBytes(ExtFixture.Get("small-ext2").Image);
        bytes[1024 + 0x62] |= 0x40;
        Volume volume = ExtFixture.Open(new MemoryView(bytes));
        Assert.False(volume.IsReadable);
        Assert.Empty(volume.Entries());
        Assert.Empty(volume.Skeleton());
        Assert.Contains(volume.Facts.Notes, note => note.Contains("bits 400000", StringComparison.Ordinal));
    }

    [Fact]
    public void A_file_with_the_encryption_flag_says_why_it_cannot_be_read()
    {
        OutsideVolume outside = ExtFixture.Get("small-ext2");
        byte[] bytes = File.ReadAllBytes(outside.Image);
        Entry plain = ExtFixture.Entries(new MemoryView(bytes)).Single(e => e.Path.ToString() == "edges/size-4096.bin");
        bytes[InodePlace(outside, plain.Number!.Value) + 0x21] |= 0x08; // flag 0x800: kernel documentation, 'Index Nodes'
        Entry entry = ExtFixture.Entries(new MemoryView(bytes)).Single(e => e.Path.ToString() == "edges/size-4096.bin");
        var content = Assert.IsType<UnreadableContent>(entry.Content);
        Assert.Contains("fscrypt", content.Why, StringComparison.Ordinal);
        Assert.Equal((4096, EntryAttributes.Encrypted), (entry.Size, entry.Attributes));
        Assert.Equal(plain.Content!.Extents, content.Extents);
    }

    [Fact]
    public void A_folder_that_the_kernel_encrypted_is_listed_and_nothing_of_it_is_called_readable()
    {
        using ImageView disk = ExtFixture.Get("small-sealed").Open();
        Entry[] sealedOnes = [.. ExtFixture.Entries(disk).Where(e => e.Path.Names is ["sealed", _])];
        Assert.Equal([EntryKind.File, EntryKind.Folder, EntryKind.Link], sealedOnes.Select(e => e.Kind).Order());
        Assert.All(sealedOnes, e => Assert.Equal((EntryAttributes.Encrypted, null), (e.Attributes, e.Digest(disk))));
        Assert.All(sealedOnes.Where(e => e.Kind != EntryKind.Folder), e => Assert.IsType<UnreadableContent>(e.Content));
        Assert.Equal(6, sealedOnes.Single(e => e.Kind == EntryKind.File).Size);
    }

    [Theory]
    [InlineData("small-ext4")]
    [InlineData("small-inline")]
    public void A_bit_flipped_in_an_inode_makes_its_entry_a_guess_and_no_other(string variant)
    {
        OutsideVolume outside = ExtFixture.Get(variant);
        byte[] bytes = File.ReadAllBytes(outside.Image);
        Entry[] before = ExtFixture.Entries(new MemoryView(bytes));
        Entry victim = before.First(e => e is { Deleted: false, Kind: EntryKind.File, Size: 4097 } && e.Path.Name == "size-4097.bin");
        bytes[InodePlace(outside, victim.Number!.Value) + 0x10] ^= 1;
        IEnumerable<string> guessed = ExtFixture.Entries(new MemoryView(bytes)).Where(e => e is { Deleted: false, Certainty: Certainty.Guessed }).Select(e => e.Path.ToString());
        Assert.Equal(["edges/hard link.bin", "edges/size-4097.bin"], guessed.Order(StringComparer.Ordinal));
    }

    private static int InodePlace(OutsideVolume outside, long number)
    {
        string[] words = Tool.Run("debugfs", "-R", $"imap <{number}>", outside.Image).Split([' ', ',', '\n', '\t'], StringSplitOptions.RemoveEmptyEntries);
        return (int.Parse(words[Array.LastIndexOf(words, "block") + 1]) * 1024) + Convert.ToInt32(words[^1], 16);
    }

    /// <summary>The bytes that a shown name stands for.</summary>
    private static byte[] Back(string shown)
    {
        var bytes = new List<byte>();
        for (int i = 0; i < shown.Length; i++)
        {
            if (shown[i] == '\u241B')
                (_, i) = (Add(bytes, [Convert.ToByte(shown.Substring(i + 1, 2), 16)]), i + 2);
            else if (char.IsHighSurrogate(shown[i]))
                Add(bytes, Encoding.UTF8.GetBytes(shown.Substring(i++, 2)));
            else
                Add(bytes, Encoding.UTF8.GetBytes(shown.Substring(i, 1)));
        }

        return [.. bytes];
    }

    private static bool Add(List<byte> bytes, byte[] more)
    {
        bytes.AddRange(more);
        return true;
    }
}
