using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>A real volume inside the plain HFS wrapper of older Macs; Apple, Technical Note TN1150, 2004, "HFS Wrapper" (from memory).</summary>
public class Wrappers
{
    private const int PartAt = 1 << 20, FirstBlockAt = 8 * 512, WrapperBlock = 4096, EmbeddedBlock = 3;

    [Fact]
    public void The_inner_volume_is_read_with_places_on_the_disk()
    {
        var disk = new MemoryView(Wrap(Prebuilt.Bytes("hfsplus")));
        Volume volume = Open(disk)!;
        var entries = volume.Entries().Where(e => !e.Deleted).ToDictionary(Prebuilt.PathOf);

        Assert.Equal(PartAt + FirstBlockAt + (EmbeddedBlock * WrapperBlock), volume.Facts.Place.Offset);
        Assert.Contains("inside an HFS wrapper", volume.Facts.Notes);
        Assert.All(Prebuilt.Outside("hfsplus").LiveFiles, line => Assert.Equal(line.Sha256, Prebuilt.Digest(entries[line.Path], disk)));
    }

    [Fact]
    public void The_copy_of_the_wrapper_is_enough()
    {
        byte[] bytes = Wrap(Prebuilt.Bytes("hfsplus"));
        var disk = new HoledView(new MemoryView(bytes), [new ByteRange(PartAt + 1024, 512)]);

        Assert.Equal(Prebuilt.Open(Prebuilt.View("hfsplus"))!.Entries().Count(), Open(disk)!.Entries().Count());
    }

    [Fact]
    public void The_skeleton_begins_with_the_wrapper()
    {
        Assert.Equal(new ByteRange(PartAt + 1024, 512), Open(new MemoryView(Wrap(Prebuilt.Bytes("hfsplus"))))!.Skeleton().First());
    }

    private static Volume? Open(ISectorView disk) => Prebuilt.Open(disk, ByteRange.Between(PartAt, disk.Length));

    private static byte[] Wrap(byte[] inner)
    {
        byte[] disk = new byte[PartAt + FirstBlockAt + (EmbeddedBlock * WrapperBlock) + inner.Length + 4096];
        inner.CopyTo(disk, PartAt + FirstBlockAt + (EmbeddedBlock * WrapperBlock));
        foreach (int at in (int[])[PartAt + 1024, disk.Length - 1024])
        {
            Span<byte> block = disk.AsSpan(at, 512);
            BinaryPrimitives.WriteUInt16BigEndian(block, 0x4244);
            BinaryPrimitives.WriteUInt32BigEndian(block[20..], WrapperBlock);
            BinaryPrimitives.WriteUInt16BigEndian(block[28..], FirstBlockAt / 512);
            BinaryPrimitives.WriteUInt16BigEndian(block[124..], 0x482B);
            BinaryPrimitives.WriteUInt16BigEndian(block[126..], EmbeddedBlock);
            BinaryPrimitives.WriteUInt16BigEndian(block[128..], (ushort)(inner.Length / WrapperBlock));
        }

        return disk;
    }
}
