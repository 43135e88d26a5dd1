using System.Text;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Ntfs;

namespace Turnstone.Volumes.Tests.Ntfs;

public sealed class Lznt1Tests
{
    // Microsoft, [MS-XCA], example of LZNT1 (from memory): the first is the packed form of the second.
    private const string Packed =
        "38B08846232000204720410010A24701A045204400084501507900C045200524138805B4024A44EF0358028C091601484500BE009E000401189000";

    private const string Plain =
        "F# F# G A A G F# E D D E F# F# E E F# F# G A A G F# E D D E F# E D D E E F# D E F# G F# D E F# G F# E D E A F# F# G A A G F# E D D E F# E D D\0";

    [Fact]
    public void The_published_example_unpacks()
    {
        byte[] packed = Convert.FromHexString(Packed);
        Lznt1.Header header = Lznt1.Header.Read(packed);
        var chunk = new byte[Lznt1.ChunkBytes];
        int length = Lznt1.TryUnpack(packed.AsSpan(Lznt1.HeaderBytes, header.Length), chunk);
        Assert.Equal((packed.Length - Lznt1.HeaderBytes, true, true), (header.Length, header.IsPacked, header.IsValid));
        Assert.Equal(Plain, Encoding.ASCII.GetString(chunk, 0, length));
    }

    [Fact]
    public void A_distance_past_the_start_is_refused() => Assert.Equal(-1, Lznt1.TryUnpack([0x02, (byte)'a', 0x00, 0x10], new byte[4096]));

    [Fact]
    public void More_than_a_chunk_is_refused() => Assert.Equal(-1, Lznt1.TryUnpack([0x06, (byte)'a', 0xFF, 0x0F, 0xFF, 0x0F], new byte[4096]));

    [Fact]
    public void Any_bytes_unpack_or_are_refused() =>
        Gen.Byte.Array[0, 4200].Sample(bytes => Lznt1.TryUnpack(bytes, new byte[4096]) is >= -1 and <= 4096);

    [Fact]
    public void A_hole_in_a_chunk_costs_that_chunk_only_and_one_in_a_header_the_rest_of_the_unit()
    {
        // Two plain chunks and the published one in a unit of 16 clusters of 1 KiB, packed into 9 of them.
        byte[] unit = [.. PlainChunk(1), .. PlainChunk(2), .. Convert.FromHexString(Packed)];
        var disk = new byte[9 * 1024];
        unit.CopyTo(disk, 0);
        var content = new CompressedContent([new Run(9, 0), new Run(7, Run.Sparse)], 1024, 16, 0, 16_384, 16_384);

        Assert.Empty(content.Missing(new MemoryView(disk)));
        Assert.Equal([new ByteRange(0, 4096)], content.Missing(new HoledView(new MemoryView(disk), [new ByteRange(1024, 512)])));
        // The second chunk ends in the sector that holds the third one's header.
        Assert.Equal([new ByteRange(4096, 12_288)], content.Missing(new HoledView(new MemoryView(disk), [new ByteRange(8196, 1)])));
    }

    private static byte[] PlainChunk(byte fill) => [0xFF, 0x3F, .. Enumerable.Repeat(fill, 4096)];
}
