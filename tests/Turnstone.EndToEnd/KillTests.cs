using System.Diagnostics;
using System.Security.Cryptography;
using Turnstone.Bench;

namespace Turnstone.EndToEnd;

/// <summary>The process is killed at random moments, a hundred times in one read.</summary>
public class KillTests
{
    private const int Kills = 100, Sectors = 600_000;

    // docs/formats/read-folder.md: never more than 64 MiB are ahead of the durable map.
    private const long CheckpointBytes = 64L << 20;

    [Fact]
    public void Killed_a_hundred_times_the_read_ends_as_an_undisturbed_one_does()
    {
        using var folder = new TempFolder();
        string patient = folder["patient.raw"];
        WritePatient(patient);
        // Slow enough that a hundred kills fall into the read, with single and neighbouring bad sectors, and one that gives in late.
        string[] faults = ["every 16", "bad 5000 1", "bad 100000 9", "bad 333333 2", "flaky 400000 4 7", "bad 599999 1"];
        using FailingServer calm = FailingServer.OnSocket(patient, faults.Skip(1), keepsLog: true);
        Program.Done("read", calm.Address, "--into", folder["calm"]);

        using FailingServer server = FailingServer.OnSocket(patient, faults, keepsLog: true);
        int kills = KillAway(server, folder["killed"], new Random(20310402));
        Program.Done("read", server.Address, "--into", folder["killed"]);

        Assert.Equal(Digest(folder["calm"]), Digest(folder["killed"]));
        foreach (string state in (string[])["held", "refused", "passed over", "unasked"])
            Assert.Equal(Program.Ranges(folder["calm"], state), Program.Ranges(folder["killed"], state));
        Assert.Equal(0, Program.Run("verify", folder["killed"]).ExitCode);

        long twice = (server.Served.Sum(read => read.Count) - calm.Served.Sum(read => read.Count)) * 512;
        TestContext.Current.TestOutputHelper?.WriteLine($"{kills} kills, {twice} bytes asked again, {(double)twice / kills / (1 << 20):0.00} MiB a kill");
        Assert.Equal(Kills, kills);
        Assert.InRange(twice, 0, kills * CheckpointBytes);
    }

    // A sitting is let live for up to a second after it began to ask; what is left at the end is read undisturbed.
    private static int KillAway(FailingServer server, string folder, Random random)
    {
        int kills = 0;
        while (kills < Kills)
        {
            using Process read = Program.Start("read", server.Address, "--into", folder, "--json");
            string? began = read.StandardOutput.ReadLine();
            Assert.Contains("\"began\"", began, StringComparison.Ordinal);
            _ = read.StandardOutput.ReadToEndAsync();
            if (read.WaitForExit(random.Next(1, 60)))
                break;
            read.Kill();
            read.WaitForExit();
            kills++;
        }

        return kills;
    }

    private static void WritePatient(string path)
    {
        byte[] bytes = new byte[Sectors * 512];
        new Random(7).NextBytes(bytes);
        File.WriteAllBytes(path, bytes);
    }

    private static byte[] Digest(string folder)
    {
        using FileStream file = File.OpenRead(Path.Combine(folder, "image.raw"));
        return SHA256.HashData(file);
    }
}
