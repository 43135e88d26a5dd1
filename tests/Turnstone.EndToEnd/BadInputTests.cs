using System.Diagnostics;
using Turnstone.Bench;

namespace Turnstone.EndToEnd;

public sealed class BadInputTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_source_that_is_not_there_is_named() => Refused("there is nothing at '/no/such/drive'", "read", "/no/such/drive", "--into", _folder["read"]);

    [Fact]
    public void A_folder_as_source_is_turned_away_with_advice() => Refused("is a folder: name the drive", "read", _folder.Path, "--into", _folder["read"]);

    [Fact]
    public void An_empty_file_is_no_source()
    {
        File.WriteAllBytes(_folder["empty"], []);
        Refused("has 0 bytes: not one sector", "read", _folder["empty"], "--into", _folder["read"]);
    }

    [Theory]
    [InlineData("nbd://", "names no host")]
    [InlineData("nbd+unix:///name", "names no socket")]
    [InlineData("nbds://host/", "TLS")]
    [InlineData("nbd+unix:///?socket=/no/such/socket", "is the server running")]
    public void A_network_address_that_leads_nowhere_is_explained(string address, string why) => Refused(why, "read", address, "--into", _folder["read"]);

    [Theory]
    [InlineData("0s")]
    [InlineData("-3h")]
    [InlineData("soon")]
    [InlineData("12")]
    public void A_budget_that_is_no_time_is_explained(string budget) => Refused("write for example 90s", "read", Image(), "--into", _folder["read"], $"--budget={budget}");

    [Fact]
    public void An_unknown_stage_is_answered_with_the_known_ones() => Refused("survey, sweep, edges, glean or appeal", "read", Image(), "--into", _folder["read"], "--only", "everything");

    [Fact]
    public void A_folder_without_a_read_is_named() => Refused("holds no read", "map", _folder.Path);

    [Fact]
    public void A_damaged_map_is_told_and_the_image_is_left_alone()
    {
        Program.Done("read", Image(), "--into", _folder["read"]);
        byte[] image = File.ReadAllBytes(Path.Combine(_folder["read"], "image.raw"));
        using (FileStream map = File.OpenWrite(Path.Combine(_folder["read"], "read.db")))
            map.Write(new byte[8192]);
        Refused("is damaged or no read map", "map", _folder["read"]);
        Refused("is damaged or no read map", "read", Image(), "--into", _folder["read"]);
        Assert.Equal(image, File.ReadAllBytes(Path.Combine(_folder["read"], "image.raw")));
    }

    [Fact]
    public void An_image_that_was_cut_is_told()
    {
        Program.Done("read", Image(), "--into", _folder["read"]);
        using (FileStream image = File.OpenWrite(Path.Combine(_folder["read"], "image.raw")))
            image.SetLength(1000);
        ToolResult result = Program.Run("read", Image(), "--into", _folder["read"]);
        Assert.Equal(4, result.ExitCode);
        Assert.Contains("it was cut or belongs to another read", result.Errors, StringComparison.Ordinal);
        Assert.Equal(2, Program.Run("verify", _folder["read"]).ExitCode);
    }

    [Fact]
    public void Another_patient_is_not_read_into_the_same_folder()
    {
        Program.Done("read", Image(), "--into", _folder["read"]);
        File.WriteAllBytes(_folder["other"], new byte[512 * 999]);
        Refused("holds the read of another patient", "read", _folder["other"], "--into", _folder["read"]);
    }

    [Fact]
    public void Source_and_target_may_not_be_the_same_file()
    {
        Directory.CreateDirectory(_folder["read"]);
        string image = Path.Combine(_folder["read"], "image.raw");
        File.Copy(Image(), image);
        Refused("source and target are the same", "read", image, "--into", _folder["read"]);
        using LoopDevice device = LoopDevice.Over(image);
        Refused("source and target are the same", "read", device.Path, "--into", _folder["read"]);
    }

    [Fact]
    public void A_patient_that_is_mounted_for_writing_is_turned_away()
    {
        string image = _folder["ext4.raw"];
        File.WriteAllBytes(image, []);
        using (FileStream file = File.OpenWrite(image))
            file.SetLength(16 << 20);
        Tool.Run("mkfs.ext4", "-q", image);
        using LoopDevice device = LoopDevice.Over(image, writable: true);
        Directory.CreateDirectory(_folder["mount"]);
        Tool.Run("mount", device.Path, _folder["mount"]);
        try
        {
            Refused("is mounted for writing", "read", device.Path, "--into", _folder["read"]);
            Refused("is mounted for writing", "read", image, "--into", _folder["read"]);
            Refused("the target folder lies on the source itself", "read", device.Path, "--into", Path.Combine(_folder["mount"], "read"));
        }
        finally
        {
            Tool.Run("umount", _folder["mount"]);
        }
    }

    [Fact]
    public void A_target_without_room_is_told_before_the_patient_is_asked()
    {
        using var small = new SmallDisk(_folder["small"]);
        ToolResult result = Program.Run("read", Image(), "--into", Path.Combine(small.Path, "read"));
        Assert.Equal(4, result.ExitCode);
        Assert.Contains("bytes free and the image may need", result.Errors, StringComparison.Ordinal);
    }

    [Fact]
    public void A_target_that_fills_up_stops_the_read_with_everything_durable()
    {
        using var small = new SmallDisk(_folder["small"]);
        string into = Path.Combine(small.Path, "read");
        ToolResult result = Program.Run("read", Image(), "--into", into, "--short-target");
        Assert.Equal(4, result.ExitCode);
        Assert.Contains("make room", result.Errors, StringComparison.Ordinal);
        // What the map calls held must be in the image, full or not.
        ToolResult verify = Program.Run("verify", into);
        Assert.True(verify.ExitCode == 0, verify.Output + verify.Errors);
    }

    [Fact]
    public void A_second_process_does_not_read_into_the_same_folder()
    {
        using FailingServer server = FailingServer.OnSocket(Image(), ["every 100"]);
        using Process first = Program.Start("read", server.Address, "--into", _folder["read"], "--json");
        first.StandardOutput.ReadLine();
        Refused("another process is reading into", "read", server.Address, "--into", _folder["read"]);
        first.Kill();
        first.WaitForExit();
    }

    [Fact]
    public void Wrong_words_get_the_help_and_a_code() => Assert.Equal(1, Program.Run("reed").ExitCode);

    private string Image()
    {
        string path = _folder["image"];
        if (!File.Exists(path))
        {
            byte[] bytes = new byte[8 << 20];
            new Random(3).NextBytes(bytes);
            File.WriteAllBytes(path, bytes);
        }

        return path;
    }

    private static void Refused(string why, params ReadOnlySpan<string> arguments)
    {
        ToolResult result = Program.Run(arguments);
        Assert.Contains(why, result.Errors, StringComparison.Ordinal);
        Assert.Equal(1, result.ExitCode);
        Assert.Single(result.Errors.TrimEnd('\n').Split('\n'));
    }

    /// <summary>A disk of 4 MiB.</summary>
    private sealed class SmallDisk : IDisposable
    {
        public SmallDisk(string path)
        {
            Path = path;
            Directory.CreateDirectory(path);
            Tool.Run("mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", path);
        }

        public string Path { get; }

        public void Dispose() => Tool.Run("umount", Path);
    }
}
