using Turnstone.Bench;

namespace Turnstone.EndToEnd;

public class DemoTests
{
    [Fact]
    public void The_demo_ends_well_and_its_bag_is_checked_by_coreutils_alone()
    {
        using var folder = new TempFolder();
        string said = Program.Done("demo", "--dir", folder["demo"]);
        Assert.Contains("The bag is complete and valid", said, StringComparison.Ordinal);
        Tool.Run("bash", "-c", $"cd '{folder["demo"]}/bag' && sha256sum --quiet -c manifest-sha256.txt && sha512sum --quiet -c manifest-sha512.txt tagmanifest-sha512.txt");
    }

    [Fact]
    public void The_demos_volume_is_clean_for_an_outside_checker()
    {
        using var folder = new TempFolder();
        Turnstone.Patients.Demo.DemoPatient.Write(folder["drive"]);
        Tool.Run("dd", $"if={folder["drive"]}", $"of={folder["volume"]}", "bs=1M", "skip=1", "status=none");
        // Source: fsck.exfat of exfatprogs, which knows nothing of our writer.
        Assert.Contains("clean. directories 4, files 35", Tool.Run("fsck.exfat", "-n", folder["volume"]), StringComparison.Ordinal);
    }
}
