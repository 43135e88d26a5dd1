using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Media.Tests.Values;

public class PartViewTests
{
    private static readonly byte[] Content = [.. Enumerable.Range(0, 8192).Select(i => (byte)(i * 31))];

    [Fact]
    public void A_part_gives_the_disks_bytes_and_never_more_than_its_own() => Gen.Select(Gen.Int[0, 9000], Gen.Int[0, 5000], Gen.Int[-50, 6000], Gen.Int[0, 300]).Sample((start, length, at, count) =>
    {
        var part = new PartView(new MemoryView(Content), new ByteRange(start, length));
        byte[] got = new byte[count];
        bool whole = part.TryRead(at, got);
        bool expected = count == 0 || (at >= 0 && at + count <= length && start + at + count <= Content.Length);
        Assert.Equal(expected, whole);
        for (int i = 0; i < count; i++)
        {
            bool there = at + i >= 0 && at + i < length && start + at + i < Content.Length;
            if (at >= 0)
                Assert.Equal(there ? Content[start + at + i] : 0, got[i]);
        }
    });

    [Fact]
    public void Missing_parts_are_in_order_and_none_touches_the_next() => Gen.Select(Gen.Int[0, 20], Gen.Int[0, 20], Gen.Int[0, 24], Gen.Int[0, 24]).Sample((start, length, at, count) =>
    {
        var disk = new HoledView(new MemoryView(Content), [new ByteRange(1024, 512), new ByteRange(4096, 1024)]);
        var part = new PartView(disk, new ByteRange(start * 512L, length * 512L));
        var range = new ByteRange(at * 512L, count * 512L);
        ByteRange[] missing = [.. part.Missing(range)];
        for (int i = 1; i < missing.Length; i++)
            Assert.True(missing[i - 1].End < missing[i].Offset);
        Assert.Equal(part.TryRead(range.Offset, new byte[range.Length]), missing.Length == 0);
    });
}
