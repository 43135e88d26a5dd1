using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Media.Linux;

namespace Turnstone.Media.Tests.Sources;

[Trait("kind", "privileged")]
public sealed class FailingDeviceTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public FailingDeviceTests() => File.WriteAllBytes(_folder["image"], MemorySource.OfSectors(8192).Content.ToArray());

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_real_device_refuses_its_bad_sectors_and_no_neighbours()
    {
        using FailingServer server = FailingServer.OnSocket(_folder["image"], ["bad 1000 10"]);
        using LoopDevice device = LoopDevice.Failing(server);
        using IBlockSource source = Media.Sources.Open(device.Path, SectorSize.Small);
        using var buffer = new SectorBuffer(1 << 20);
        for (int sector = 996; sector < 1014; sector++)
        {
            ReadOutcome outcome = source.Read(SectorRange.Between(sector, sector + 1), buffer.Memory, TimeSpan.FromSeconds(30));
            Assert.Equal(sector is < 1000 or >= 1010, outcome is ReadOutcome.Bytes);
        }

        Assert.IsType<ReadOutcome.Refused>(source.Read(SectorRange.Between(0, 2048), buffer.Memory, TimeSpan.FromSeconds(30)));
    }

    [Fact]
    public void A_device_that_holds_a_thread_is_silent_at_the_limit_and_answers_later()
    {
        using FailingServer server = FailingServer.OnSocket(_folder["image"], ["slow 500 1 1500"]);
        using LoopDevice device = LoopDevice.Failing(server);
        using IBlockSource source = Media.Sources.Open(device.Path, SectorSize.Small);
        using var buffer = new SectorBuffer(4096);
        var lost = new SectorBuffer(4096);
        Assert.IsType<ReadOutcome.Silent>(source.Read(SectorRange.Between(500, 501), lost.Memory, TimeSpan.FromMilliseconds(100)));
        Assert.IsType<ReadOutcome.Bytes>(source.Read(SectorRange.Between(0, 1), buffer.Memory, TimeSpan.FromSeconds(30)));
    }

    [Fact]
    public void A_device_is_read_only_in_the_kernel_while_it_is_open_and_as_before_afterwards()
    {
        using LoopDevice device = LoopDevice.Over(_folder["image"], writable: true);
        using (BlockDeviceSource source = BlockDeviceSource.Open(device.Path))
        {
            Assert.True(source.IsReadOnlyInKernel);
            Assert.Equal("1", Tool.Run("blockdev", "--getro", device.Path).Trim());
        }

        Assert.Equal("0", Tool.Run("blockdev", "--getro", device.Path).Trim());
    }

    [Fact]
    public void What_the_kernel_says_of_files_is_what_coreutils_stat_says()
    {
        // Source: stat of GNU coreutils.
        foreach (string path in (string[])["/dev/null", "/", _folder["image"], "/dev/loop0"])
        {
            string[] said = Tool.Run("stat", "-c", "%i %Hd:%Ld %s", path).Trim().Split(' ');
            FileFacts facts = FileFacts.Of(path)!;
            Assert.Equal((said[0], said[1], said[2]), (facts.Inode.ToString(), facts.On.ToString(), facts.Length.ToString()));
        }

        Assert.Null(FileFacts.Of("/no/such/thing"));
    }

    // Source: the kernel's errno names; 61 for a medium error as seen on a direct read (kernel 6.1, scsi_debug).
    [Theory]
    [InlineData(61, RefusalCause.Medium)]
    [InlineData(5, RefusalCause.Unspecified)]
    [InlineData(6, RefusalCause.Gone)]
    [InlineData(19, RefusalCause.Gone)]
    [InlineData(110, RefusalCause.Silence)]
    public void The_kernels_error_numbers_keep_their_meaning(int error, RefusalCause cause) => Assert.Equal(cause, BlockDeviceSource.CauseOf(error));
}
