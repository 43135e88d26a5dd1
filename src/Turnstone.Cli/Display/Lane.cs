using System.Text;
using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Cli.Display;

/// <summary>The patient as one lane from its first sector to its last: what is held, what is in trouble, what was not asked.</summary>
/// <remarks>A cell shows its worst news, so that one refused sector in a terabyte is seen. Signs stand beside colours: print and colour-blind readers lose nothing.</remarks>
internal static class Lane
{
    /// <summary>Explains the signs.</summary>
    public const string Legend = "[#0072B2]█[/] held   [#E69F00]/[/] passed over   [#CC79A7]x[/] refused   : withheld   (blank) not asked";

    /// <summary>The lane with colour marks.</summary>
    public static string Draw(ReadMap map, int width)
    {
        var cells = new SectorState[width];
        Array.Fill(cells, SectorState.Held);
        foreach (MapRun run in map.Runs())
        {
            int first = Cell(run.Range.Start.Value, map.Whole, width), last = Cell(run.Range.End.Value - 1, map.Whole, width);
            for (int cell = first; run.Mark.State != SectorState.Held && cell <= last; cell++)
                cells[cell] = Worse(cells[cell], run.Mark.State);
        }

        var text = new StringBuilder();
        foreach (SectorState state in cells)
            text.Append(Sign(state));
        return text.ToString();
    }

    private static int Cell(long sector, SectorRange whole, int width) => (int)((Int128)sector * width / whole.Count.Value);

    private static SectorState Worse(SectorState left, SectorState right) => Badness(left) >= Badness(right) ? left : right;

    private static int Badness(SectorState state) => state switch
    {
        SectorState.Refused => 4,
        SectorState.PassedOver => 3,
        SectorState.Unasked => 2,
        SectorState.Withheld => 1,
        SectorState.Held => 0,
    };

    private static string Sign(SectorState state) => state switch
    {
        SectorState.Held => "[#0072B2]█[/]",
        SectorState.PassedOver => "[#E69F00]/[/]",
        SectorState.Refused => "[#CC79A7]x[/]",
        SectorState.Withheld => ":",
        SectorState.Unasked => " ",
    };
}
