namespace Turnstone.Cli.Tests.Lab;

/// <summary>What the lab's verbs print.</summary>
public sealed class Pictures_of_the_lab : IDisposable
{
    private readonly LabCommand _lab = new();

    [Fact]
    public void Triage_of_the_dropped_drive() => Same("triage-dropped", "triage", LabCommand.Demo("dropped.json"));

    [Fact]
    public void Triage_of_the_drive_that_clicked() => Same("triage-clicked", "triage", LabCommand.Demo("clicked.json"));

    [Fact]
    public void Protocol_for_stuck_heads() => Same("protocol-stuck-heads", "protocol", "--failure", "stuck heads", "--drive", LabCommand.Demo("drive.json"));

    [Fact]
    public void Quote_for_the_dropped_drive() => Same("quote-dropped", "quote", "--findings", LabCommand.Demo("dropped.json"), "--drive", LabCommand.Demo("drive.json"));

    [Fact]
    public void Ranking_of_the_shelf()
    {
        _lab.Good("donor", "add", LabCommand.Demo("shelf.json"));
        Same("donor-rank", "donor", "rank", LabCommand.Demo("patient.json"), "--value", "1200 EUR", "--labour", "250 EUR");
    }

    [Fact]
    public void Class_of_a_counters_file() => Same("air-class", "air", "class", LabCommand.Demo("counts.csv"), "--area", "0.72 m2", "--claim", "5", "--size", "0.5 um", "--size", "1 um");

    [Fact]
    public void Marks_of_drives() => Same("tag", "tag", "WQX4417KQ", "WQX4427KQ", "WQX4404MT", "TTB8O1");

    public void Dispose() => _lab.Dispose();

    private void Same(string name, params string[] arguments) => Picture.IsSame("lab-" + name, _lab.Good(arguments));
}
