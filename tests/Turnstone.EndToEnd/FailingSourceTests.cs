using System.Diagnostics;
using System.Security.Cryptography;
using Turnstone.Bench;

namespace Turnstone.EndToEnd;

/// <summary>A patient that refuses chosen sectors, served from outside this program, over a volume made by outside tools.</summary>
public class FailingSourceTests
{
    private static readonly OutsideVolume Volume = OutsideVolume.Make("make-exfat.sh");

    [Theory]
    [InlineData(1, true)]
    [InlineData(2, true)]
    [InlineData(3, false)]
    public void What_is_called_whole_is_whole_and_what_is_missing_is_exactly_what_was_refused(int seed, bool structured)
    {
        long[] bad = BadSectors(seed);
        using var folder = new TempFolder();
        using FailingServer server = FailingServer.OnSocket(Volume.Image, bad.Select(sector => $"bad {sector} 1"), keepsLog: true, structured);
        Program.Done("read", server.Address, "--into", folder["read"]);
        AssertTrue(folder, bad);
        AssertHeldWasServed(folder["read"], server);
    }

    [Fact]
    public void A_real_block_device_with_bad_sectors_is_read_as_truthfully()
    {
        long[] bad = BadSectors(4);
        using var folder = new TempFolder();
        using FailingServer server = FailingServer.OnSocket(Volume.Image, bad.Select(sector => $"bad {sector} 1"));
        using LoopDevice device = LoopDevice.Failing(server);
        Program.Done("read", device.Path, "--into", folder["read"]);
        AssertTrue(folder, bad);
    }

    [Fact]
    public async Task A_server_that_dies_ends_the_sitting_and_the_same_command_goes_on_with_the_next_one()
    {
        using var folder = new TempFolder();
        using (FailingServer server = FailingServer.OnPort(Volume.Image, ["every 40"], 10_911))
        {
            using Process read = Program.Start("read", server.Address, "--into", folder["read"]);
            Task<string> said = read.StandardOutput.ReadToEndAsync();
            await Task.Delay(1000);
            server.Kill();
            Assert.True(read.WaitForExit(20_000));
            Assert.Equal(3, read.ExitCode);
            Assert.Contains("The source is gone", await said, StringComparison.Ordinal);
        }

        using FailingServer again = FailingServer.OnPort(Volume.Image, [], 10_911);
        Program.Done("read", again.Address, "--into", folder["read"]);
        Assert.Equal(Digest(Volume.Image), Digest(Path.Combine(folder["read"], "image.raw")));
    }

    [Theory]
    [InlineData("INT")]
    [InlineData("TERM")]
    public void A_signal_to_end_stops_cleanly_and_loses_nothing(string signal)
    {
        using var folder = new TempFolder();
        using FailingServer server = FailingServer.OnSocket(Volume.Image, ["every 40"], keepsLog: true);
        // A shell without job control starts its background jobs deaf to interrupts, and so are their children.
        using (Process read = Tool.Start("env", "--default-signal=INT", Program.Path, "read", server.Address, "--into", folder["read"]))
        {
            Thread.Sleep(1000);
            Tool.Run("kill", $"-{signal}", read.Id.ToString());
            Assert.True(read.WaitForExit(20_000));
            Assert.Equal(3, read.ExitCode);
        }

        Program.Done("read", server.Address, "--into", folder["read"]);
        Assert.Equal(new FileInfo(Volume.Image).Length / 512, server.Served.Sum(read => read.Count));
        Assert.Equal(Digest(Volume.Image), Digest(Path.Combine(folder["read"], "image.raw")));
    }

    [Fact]
    public void A_read_that_goes_on_can_be_looked_at()
    {
        using var folder = new TempFolder();
        using FailingServer server = FailingServer.OnSocket(Volume.Image, ["every 40"]);
        using Process read = Program.Start("read", server.Address, "--into", folder["read"], "--json");
        _ = read.StandardOutput.ReadLine();
        _ = read.StandardOutput.ReadToEndAsync();
        Thread.Sleep(1200);
        Assert.Contains("held", Program.Done("map", folder["read"]), StringComparison.Ordinal);
        Assert.NotEmpty(Program.Files(folder["read"]));
        Assert.False(read.HasExited);
        read.Kill();
        read.WaitForExit();
    }

    // Single sectors and short runs all over, boot sectors and tables spared once in a while by chance only.
    private static long[] BadSectors(int seed)
    {
        var random = new Random(seed);
        long sectors = new FileInfo(Volume.Image).Length / 512;
        return [.. Enumerable.Range(0, 60)
            .SelectMany(_ => Enumerable.Range(0, random.Next(1, 6)).Select(i => random.NextInt64(2048, sectors - 10) + i))
            .Distinct().Order()];
    }

    private static void AssertTrue(TempFolder folder, long[] bad)
    {
        Assert.Equal(bad, Program.Ranges(folder["read"], "refused").SelectMany(r => Enumerable.Range(0, (int)r.Count).Select(i => r.First + i)));
        Program.Done("handover", folder["read"], "--to", folder["bag"]);
        Assert.Equal(0, Program.Run("check", folder["bag"]).ExitCode);

        var manifest = Volume.LiveFiles.ToDictionary(line => line.Path);
        IReadOnlyList<Listed> files = [.. Program.Files(folder["read"], "--digests").Where(f => f is { Kind: "file", Deleted: false })];
        Assert.Contains(files, file => file.Grade == "holed");
        foreach (Listed file in files)
            AssertTrue(file, manifest[file.Path], bad);
        foreach (Listed file in files.Where(file => file.Grade == "whole"))
            Assert.Contains(manifest[file.Path].Sha256, DigestsIn(folder["bag"], "whole"));
        Assert.All(DigestsIn(folder["bag"], "whole"), digest => Assert.Contains(manifest.Values, line => line.Sha256 == digest));
    }

    private static void AssertTrue(Listed file, ManifestLine line, long[] bad)
    {
        if (file.Grade == "whole")
            Assert.Equal(line.Sha256, file.Sha256);
        if (file.Grade != "holed" || line.Proof != "bytes")
            return;
        Assert.Equal(Expected(line, bad), file.Missing);
    }

    // The refused sectors, carried over to file offsets by the places that the outside tool gave.
    private static List<(long Offset, long Length)> Expected(ManifestLine line, long[] bad)
    {
        var missing = new List<(long Offset, long Length)>();
        foreach ((long fileOffset, long? imageOffset, long length) in line.Extents)
        {
            foreach (long sector in bad)
            {
                long from = Math.Max(sector * 512, imageOffset!.Value), to = Math.Min((sector + 1) * 512, imageOffset.Value + length);
                long at = fileOffset + from - imageOffset.Value, end = Math.Min(fileOffset + to - imageOffset.Value, line.Size);
                if (from >= to || at >= end)
                    continue;
                if (missing.Count > 0 && missing[^1].Offset + missing[^1].Length == at)
                    missing[^1] = (missing[^1].Offset, missing[^1].Length + end - at);
                else
                    missing.Add((at, end - at));
            }
        }

        return missing;
    }

    private static void AssertHeldWasServed(string read, FailingServer server)
    {
        var served = new HashSet<long>(server.Served.SelectMany(r => Enumerable.Range(0, (int)r.Count).Select(i => r.First + i)));
        foreach ((long first, long count) in Program.Ranges(read, "held"))
        {
            for (long sector = first; sector < first + count; sector++)
                Assert.Contains(sector, served);
        }
    }

    private static List<string> DigestsIn(string bag, string shelf) =>
        [.. File.ReadLines(Path.Combine(bag, "manifest-sha256.txt")).Where(line => line.Contains($"  data/{shelf}/", StringComparison.Ordinal)).Select(line => line[..64])];

    private static byte[] Digest(string path)
    {
        using FileStream file = File.OpenRead(path);
        return SHA256.HashData(file);
    }
}
