using System.Security.Cryptography;
using Turnstone.Bench;

namespace Turnstone.EndToEnd;

/// <summary>Real block devices of the kernel with volumes that outside tools made; the digests are those the tools read back.</summary>
public class HealthyDeviceTests
{
    [Theory]
    [InlineData("make-exfat.sh", 512)]
    [InlineData("make-exfat.sh", 4096, "4096")]
    [InlineData("make-fat.sh", 512, "32")]
    [InlineData("make-fat.sh", 512, "16")]
    public void Every_live_file_comes_off_a_loop_device_with_the_manifests_digest(string script, int sector, params string[] arguments)
    {
        OutsideVolume volume = OutsideVolume.Make(script, arguments);
        using var folder = new TempFolder();
        using LoopDevice device = LoopDevice.Over(volume.Image, sector);
        Program.Done("read", device.Path, "--into", folder["read"]);
        var found = Program.Files(folder["read"], "--digests").Where(f => f is { Kind: "file", Deleted: false }).ToDictionary(f => f.Path);

        Assert.Equal(volume.LiveFiles.Select(line => line.Path).Order(StringComparer.Ordinal), found.Keys.Order(StringComparer.Ordinal));
        foreach (ManifestLine line in volume.LiveFiles)
        {
            Assert.Equal("whole", found[line.Path].Grade);
            Assert.Equal(line.Sha256, found[line.Path].Sha256);
        }

        Assert.Equal(0, Program.Run("verify", folder["read"]).ExitCode);
    }

    [Fact]
    public void The_patient_is_the_same_afterwards_and_nobody_tried_to_write_to_it()
    {
        OutsideVolume volume = OutsideVolume.Make("make-exfat.sh");
        using var folder = new TempFolder();
        string patient = folder["patient.raw"];
        File.Copy(volume.Image, patient);
        File.SetLastWriteTimeUtc(patient, new DateTime(2031, 1, 2, 3, 4, 6, DateTimeKind.Utc));
        byte[] before = Digest(patient);
        using (LoopDevice device = LoopDevice.Over(patient, writable: true))
        {
            // strace names every file that a call works on (-y); a write to the device or its file would show here.
            Tool.Run("strace", "-f", "-y", "-qq", "-e", "trace=write,pwrite64,pwritev,pwritev2,writev,fallocate,ftruncate,open,openat", "-o", folder["calls"], Program.Path, "read", device.Path, "--into", folder["read"]);
            string[] onPatient = [.. File.ReadLines(folder["calls"]).Where(call => call.Contains(device.Path, StringComparison.Ordinal) || call.Contains(patient, StringComparison.Ordinal))];
            Assert.Contains(onPatient, call => call.Contains("O_RDONLY|O_DIRECT", StringComparison.Ordinal));
            Assert.DoesNotContain(onPatient, call => call.Contains("O_RDWR", StringComparison.Ordinal) || call.Contains("O_WRONLY", StringComparison.Ordinal));
            Assert.DoesNotContain(onPatient, call => call.Contains($"<{device.Path}>", StringComparison.Ordinal) && !call.Contains("open", StringComparison.Ordinal));
            Assert.Equal("0", Tool.Run("blockdev", "--getro", device.Path).Trim());
        }

        Assert.Equal(before, Digest(patient));
        Assert.Equal(new DateTime(2031, 1, 2, 3, 4, 6, DateTimeKind.Utc), File.GetLastWriteTimeUtc(patient));
    }

    private static byte[] Digest(string path)
    {
        using FileStream file = File.OpenRead(path);
        return SHA256.HashData(file);
    }
}
