using Spectre.Console;
using Turnstone.Bench;
using Turnstone.Cli.Display;
using Turnstone.Media;
using Turnstone.Patients.Demo;
using Turnstone.Volumes;

namespace Turnstone.Cli.Tests;

public sealed class FilesTableTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_hole_in_a_folders_own_list_is_said_and_never_passes_for_an_empty_folder()
    {
        DemoPatient.Write(_folder["drive"]);
        using var image = new ImageView(_folder["drive"], SectorSize.Small);
        // The first eight sectors of the folder 'Night hide', which lies behind all files, and one of a recording.
        var held = new HoledView(image, [new ByteRange(24_000 * 512, 4096), new ByteRange(30_000 * 512, 4096)]);
        using var output = new StringWriter();
        IAnsiConsole console = AnsiConsole.Create(new AnsiConsoleSettings { Ansi = AnsiSupport.No, Out = new AnsiConsoleOutput(output) });
        console.Profile.Width = 160;
        FilesTable.Write(console, Disk.Read(held), held, digests: false);
        Assert.Contains("tables and folders are not held", output.ToString(), StringComparison.Ordinal);
        Picture.IsSame("files-with-holes", output.ToString());
    }
}
