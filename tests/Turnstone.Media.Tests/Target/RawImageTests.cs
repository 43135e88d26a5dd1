using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Media.Target;

namespace Turnstone.Media.Tests.Target;

public sealed class RawImageTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void What_was_written_is_read_back_aligned_or_not() => Gen.Select(Gen.Int[0, 2000], Gen.Int[1, 100], Gen.Byte).Array[1, 20].Sample(
        writes =>
        {
            string path = _folder[Guid.NewGuid().ToString("n")];
            byte[] expected = new byte[2200 * 512];
            using (RawImage image = RawImage.Create(path, expected.Length))
            {
                foreach ((int at, int count, byte value) in writes)
                {
                    using var buffer = new SectorBuffer(count * 512);
                    buffer.GetSpan().Fill((byte)(value | 1));
                    buffer.GetSpan().CopyTo(expected.AsSpan(at * 512));
                    image.Write(at * 512L, buffer.GetSpan());
                }

                image.MakeDurable();
                byte[] got = new byte[expected.Length];
                image.Read(0, got);
                Assert.Equal(expected, got);
            }

            Assert.Equal(expected, File.ReadAllBytes(path));
        },
        iter: 30);

    [Fact]
    public void Zeros_in_a_fresh_image_take_no_room()
    {
        using RawImage image = RawImage.Create(_folder["image"], 8 << 20);
        using var zeros = new SectorBuffer(1 << 20);
        for (int i = 0; i < 8; i++)
            image.Write(i << 20, zeros.GetSpan());
        image.MakeDurable();
        Assert.InRange(Media.Linux.FileFacts.Of(_folder["image"])!.AllocatedBytes, 0, 64 << 10);
    }

    [Fact]
    public void Zeros_in_a_resumed_image_overwrite_what_a_killed_process_left_there()
    {
        using (RawImage image = RawImage.Create(_folder["image"], 1 << 20))
            image.Write(0, "left behind"u8);
        using (RawImage image = RawImage.Open(_folder["image"], 1 << 20))
            image.Write(0, new byte[11]);
        Assert.All(File.ReadAllBytes(_folder["image"]), b => Assert.Equal(0, b));
    }

    [Fact]
    public void An_image_of_another_length_or_none_is_told()
    {
        Assert.Contains("image", Assert.Throws<TargetFailure>(() => RawImage.Open(_folder["image"], 5)).Message, StringComparison.Ordinal);
        RawImage.Create(_folder["image"], 1000).Dispose();
        Assert.Contains("1000 bytes, the patient 2000", Assert.Throws<TargetFailure>(() => RawImage.Open(_folder["image"], 2000)).Message, StringComparison.Ordinal);
    }
}
