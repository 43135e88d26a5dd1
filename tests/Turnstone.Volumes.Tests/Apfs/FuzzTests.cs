using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.Apfs;

namespace Turnstone.Volumes.Tests.Apfs;

/// <summary>Bytes that nobody meant: noise, and real volumes bent where it hurts, their checksums made to fit again.</summary>
/// <remarks>CsCheck_Time=600 in the environment runs each test for ten minutes.</remarks>
public sealed class FuzzTests
{
    private const int BlockBytes = 4096;

    /// <summary>Cases of one test; -1 leaves it to the environment.</summary>
    private static readonly int Cases = Environment.GetEnvironmentVariable("CsCheck_Time") is null ? 40 : -1;

    /// <summary>A sound listing of the real volume takes some hundred reads; searching it adds the holes between what was written.</summary>
    private const long MostCalls = 100_000;

    [Fact]
    public void Any_bytes_get_an_answer() =>
        Gen.Byte.Array[0, 3 * BlockBytes].Sample(bytes => Ask(new BentView(new MemoryView(bytes), new Dictionary<long, byte[]>(), BlockBytes)));

    [Theory]
    [InlineData("plain")]
    [InlineData("features")]
    public void A_bent_volume_gets_an_answer_in_bounded_work(string name)
    {
        RealVolume real = ApfsBench.Named(name);
        using ImageView image = real.Outside.Open();
        long[] metadata = Metadata(image);
        HoledView written = real.WrittenOnly(image);
        Gen.ULong.Sample(seed => Ask(Bent(written, real.Written, metadata, new Random((int)(seed ^ (seed >> 32))))), iter: Cases);
    }

    [Fact]
    public void A_bent_small_container_gets_an_answer_in_bounded_work()
    {
        TreePlan tree = new TreePlan().Folder(20, 2, "a").Folder(21, 20, "b").File(22, 21, "c", 9000, 90).File(23, 2, "d", 100, 93)
            .Inode(24, 21, "e", 0x81A4, 22, 9000, 0x20).Named(21, "e", 24, 8).Attribute(24, "com.apple.decmpfs", new byte[40]).Extent(22, 16_384, 4096, 0);
        var image = new MemoryView(ContainerBuilder.Build(BlockBytes, [new VolumePlan("one", tree), new VolumePlan("two", tree)]));
        long[] metadata = [.. Metadata(image).Where(b => b < ContainerBuilder.Blocks)];
        Gen.ULong.Sample(seed => Ask(Bent(image, [new ByteRange(0, image.Length)], metadata, new Random((int)(seed ^ (seed >> 32))))), iter: Cases);
    }

    private static long[] Metadata(ISectorView image) =>
        [.. ApfsBench.Open(image).SelectMany(v => v.Skeleton()).SelectMany(r => Enumerable.Range((int)(r.Offset / BlockBytes), (int)(r.Length / BlockBytes))).Select(b => (long)b).Distinct()];

    private static void Ask(BentView view)
    {
        foreach (Volume volume in ApfsBench.Open(view))
        {
            Assert.NotNull(volume.Facts.Name);
            foreach (Entry entry in volume.Entries())
                Ask(view, entry);
            Assert.All(volume.Skeleton(), r => Assert.True(r.Length > 0));
            long last = 0;
            foreach (UsageRun run in volume.Usage())
            {
                Assert.True(last <= run.Place.Offset);
                last = run.Place.End;
            }
        }

        Assert.True(view.Calls < MostCalls, $"{view.Calls} calls");
    }

    private static void Ask(BentView view, Entry entry)
    {
        Assert.False(entry.Path.IsRoot);
        if (entry.Content is not { } content)
            return;
        Assert.True(content.Length >= 0);
        if (content.Extents is { } extents && entry.Attributes == EntryAttributes.None && content is StoredContent)
            Assert.Equal(content.Length, extents.Sum(e => e.Length));
        foreach (ByteRange hole in content.Missing(view).Take(100))
            Assert.True(hole.End <= content.Length);
        content.TryRead(view, 0, new byte[Math.Min(content.Length, 5000)]);
    }

    /// <summary>The view with a few of its metadata blocks bent; now and then with a hole too.</summary>
    private static BentView Bent(ISectorView image, IReadOnlyList<ByteRange> written, long[] metadata, Random random)
    {
        var bent = new Dictionary<long, byte[]>();
        for (int i = random.Next(1, 9); i > 0; i--)
        {
            long block = metadata[random.Next(metadata.Length)];
            if (!bent.TryGetValue(block, out byte[]? bytes))
                image.TryRead(block * BlockBytes, bytes = bent[block] = new byte[BlockBytes]);
            Bend(bytes, image, metadata, random);
            if (random.Next(10) > 0)
                ContainerBuilder.Seal(bytes);
        }

        return new BentView(random.Next(5) > 0 ? image : new HoledView(image, HoleTests.Holes(written, random.NextDouble() / 5, random.Next())), bent, BlockBytes);
    }

    private static void Bend(byte[] block, ISectorView image, long[] metadata, Random random)
    {
        switch (random.Next(6))
        {
            case 0:
                block[random.Next(32, block.Length)] = (byte)random.Next(256);
                break;
            case 1:
                BinaryPrimitives.WriteUInt16LittleEndian(block.AsSpan(random.Next(16, 128) * 2), (ushort)Telling(metadata, random));
                break;
            case 2:
                BinaryPrimitives.WriteUInt64LittleEndian(block.AsSpan(random.Next(1, block.Length / 8) * 8), Telling(metadata, random));
                break;
            case 3:
                BinaryPrimitives.WriteUInt32LittleEndian(block.AsSpan(random.Next(8, block.Length / 4) * 4), (uint)Telling(metadata, random));
                break;
            case 4:
                image.TryRead(metadata[random.Next(metadata.Length)] * BlockBytes, block.AsSpan(random.Next(2) * ObjectHeader.Length, BlockBytes - ObjectHeader.Length));
                break;
            default:
                int at = random.Next(56, block.Length - 64), length = random.Next(1, 33);
                block.AsSpan(random.Next(56, block.Length - 64), length).CopyTo(block.AsSpan(at));
                break;
        }
    }

    /// <summary>A number that some field may choke on: borders of its size, places of other nodes, identifiers.</summary>
    private static ulong Telling(long[] metadata, Random random) => random.Next(8) switch
    {
        0 => 0,
        1 => ulong.MaxValue >> random.Next(0, 60),
        2 => (ulong)metadata[random.Next(metadata.Length)],
        3 => (ulong)random.Next(0, 64),
        4 => 1UL << random.Next(0, 64),
        5 => 1024 + (ulong)random.Next(0, 200),
        6 => ((ulong)random.Next(0, 16) << 60) | (uint)random.Next(0, 600),
        _ => (ulong)random.NextInt64(),
    };
}
