using Turnstone.Bench;
using Turnstone.Patients.Demo;

namespace Turnstone.EndToEnd;

public class HostileNameTests
{
    private static readonly string[] Names =
    [
        "..", ".", "../..", "a\\..\\..\\b", "CON", "nul.txt", "ends with a dot.", "ends with a space ", "\u0001\u001b[31mred.txt", "line\nbreak.txt",
        "right\u202eto left.exe", "<script>alert(1)</script>.html", "=HYPERLINK(1).csv", "half \ud800 pair.txt", "100%.txt", new string('x', 255), new string('ж', 255),
        "Twin.txt", "twin.TXT", "e\u0301.txt", "\u00e9.txt", "-rf", "~", "$(reboot)", "nul\0inside.txt",
    ];

    [Fact]
    public void Names_from_a_patient_never_leave_the_bag_nor_steer_the_terminal()
    {
        using var folder = new TempFolder();
        string image = folder["image"];
        // A '/' inside a name cannot be written by the invented volume's maker, whose paths are split at it; '..' can.
        InventedFile[] files = [.. Names.Select((name, i) => new InventedFile(name.Replace('/', '\\'), [(byte)i, 1, 2], new DateTime(2031, 4, 2, 0, 0, 0, DateTimeKind.Utc)))];
        using (FileStream output = File.Create(image))
            ExFatImage.Write(output, 8 << 20, 4096, "HOSTILE", files);

        Directory.CreateDirectory(folder["deep"]);
        string bag = Path.Combine(folder["deep"], "bag");
        Program.Done("handover", image, "--to", bag);
        Assert.Equal(["bag"], Directory.EnumerateFileSystemEntries(folder["deep"]).Select(Path.GetFileName));
        Assert.Equal(["deep", "image"], Directory.EnumerateFileSystemEntries(folder.Path).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        Assert.Equal(0, Program.Run("check", bag).ExitCode);
        // Source: coreutils reads the manifest in its own way.
        Tool.Run("bash", "-c", $"cd '{bag}' && sha256sum --quiet -c manifest-sha256.txt tagmanifest-sha256.txt");
        byte[][] contents = [.. Directory.EnumerateFiles(Path.Combine(bag, "data"), "*", SearchOption.AllDirectories).Select(File.ReadAllBytes).Where(b => b.Length == 3)];
        Assert.Equal(Names.Length, contents.Select(b => b[0]).Distinct().Count());

        foreach (string said in (string[])[Program.Done("files", image), Program.Done("files", image, "--json"), Program.Done("files", image, "--digests")])
            Assert.DoesNotContain(said, c => (char.IsControl(c) && c != '\n') || c == '\u202e');
    }
}
