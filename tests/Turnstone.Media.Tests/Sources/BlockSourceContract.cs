using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Media.Tests.Sources;

/// <summary>What every source must answer, whatever stands behind it.</summary>
public abstract class BlockSourceContract : IDisposable
{
    protected const int Bytes = 4 << 20;
    private static readonly byte[] Content = MemorySource.OfSectors(Bytes / 512, seed: 11).Content.ToArray();

    protected BlockSourceContract()
    {
        Image = Folder["image"];
        File.WriteAllBytes(Image, Content);
    }

    protected TempFolder Folder { get; } = new();

    protected string Image { get; }

    protected abstract IBlockSource Open();

    public virtual void Dispose() => Folder.Dispose();

    [Fact]
    public void It_reports_sizes_that_make_up_the_whole()
    {
        using IBlockSource source = Open();
        Assert.Equal(Bytes, source.Geometry.WholeBytes.Length);
        Assert.True(source.Geometry.Physical.Bytes >= source.Geometry.Logical.Bytes);
        Assert.NotEmpty(source.Identity.Address);
    }

    [Fact]
    public void Any_range_comes_with_its_own_bytes()
    {
        using IBlockSource source = Open();
        int size = source.Geometry.Logical.Bytes, sectors = Bytes / size;
        using var buffer = new SectorBuffer(1 << 20);
        Gen.Select(Gen.Int[0, sectors - 1], Gen.Int[1, Math.Min(sectors, (1 << 20) / size)]).Sample(
            (first, count) =>
            {
                SectorRange range = SectorRange.Between(first, Math.Min(first + count, sectors));
                ReadOutcome outcome = source.Read(range, buffer.Memory, TimeSpan.FromSeconds(30));
                ReadOutcome.Bytes bytes = Assert.IsType<ReadOutcome.Bytes>(outcome);
                Assert.Equal(range, bytes.Asked);
                Assert.True(bytes.Data.Span.SequenceEqual(Content.AsSpan(first * size, (int)range.Count.Value * size)));
            },
            iter: 60, threads: 1);
    }

    [Fact]
    public void Ranges_that_are_none_of_its_own_are_a_programmers_mistake()
    {
        using IBlockSource source = Open();
        using var buffer = new SectorBuffer(1 << 16);
        long sectors = source.Geometry.Capacity.Value;
        foreach (SectorRange range in (SectorRange[])[SectorRange.Between(0, 0), SectorRange.Between(sectors - 1, sectors + 1), SectorRange.Between(0, sectors)])
            Assert.ThrowsAny<ArgumentException>(() => source.Read(range, buffer.Memory, TimeSpan.FromSeconds(1)));
    }
}

public class FileSourceTests : BlockSourceContract
{
    protected override IBlockSource Open() => Media.Sources.Open(Image, SectorSize.Small);

    [Fact]
    public void A_file_that_shrinks_answers_that_the_sectors_lie_past_its_end()
    {
        using IBlockSource source = Open();
        using (var file = new FileStream(Image, FileMode.Open, FileAccess.Write, FileShare.ReadWrite))
            file.SetLength(1 << 20);
        using var buffer = new SectorBuffer(4096);
        ReadOutcome outcome = source.Read(SectorRange.Between(4000, 4008), buffer.Memory, TimeSpan.FromSeconds(1));
        Assert.Equal(RefusalCause.PastEnd, Assert.IsType<ReadOutcome.Refused>(outcome).Cause);
    }
}

[Trait("kind", "privileged")]
public class LoopDeviceTests : BlockSourceContract
{
    private readonly LoopDevice _device;

    public LoopDeviceTests() => _device = LoopDevice.Over(Image);

    protected override IBlockSource Open() => Media.Sources.Open(_device.Path, SectorSize.Small);

    public override void Dispose()
    {
        _device.Dispose();
        base.Dispose();
    }
}

[Trait("kind", "privileged")]
public class LargeSectorLoopDeviceTests : BlockSourceContract
{
    private readonly LoopDevice _device;

    public LargeSectorLoopDeviceTests() => _device = LoopDevice.Over(Image, sector: 4096);

    protected override IBlockSource Open() => Media.Sources.Open(_device.Path, SectorSize.Small);

    public override void Dispose()
    {
        _device.Dispose();
        base.Dispose();
    }

    [Fact]
    public void The_device_says_its_sector_size_itself()
    {
        using IBlockSource source = Open();
        Assert.Equal(4096, source.Geometry.Logical.Bytes);
        // Source: blockdev of util-linux asks the kernel in its own way.
        Assert.Equal("4096", Tool.Run("blockdev", "--getss", _device.Path).Trim());
    }
}

public class NetworkSourceTests : BlockSourceContract
{
    private readonly FailingServer _server;

    public NetworkSourceTests() => _server = FailingServer.OnSocket(Image, []);

    protected override IBlockSource Open() => Media.Sources.Open(_server.Address, SectorSize.Small);

    public override void Dispose()
    {
        _server.Dispose();
        base.Dispose();
    }
}

public class PlainReplyNetworkSourceTests : BlockSourceContract
{
    private readonly FailingServer _server;

    public PlainReplyNetworkSourceTests() => _server = FailingServer.OnSocket(Image, [], structured: false);

    protected override IBlockSource Open() => Media.Sources.Open(_server.Address, SectorSize.Small);

    public override void Dispose()
    {
        _server.Dispose();
        base.Dispose();
    }
}
