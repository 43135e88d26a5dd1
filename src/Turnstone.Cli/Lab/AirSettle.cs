using System.CommandLine;
using Turnstone.Lab.Air;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone air settle</summary>
internal static class AirSettle
{
    public static Command Make()
    {
        var verb = new LabVerb("settle", "Estimates how many particles settle on an open platter: by gravity only, so a floor. Compare openings with it; it proves no surface clean.",
            "turnstone air settle --class 5 --outer \"95 mm\" --inner \"25 mm\" --open \"30 min\"");
        Option<string?> isoClass = verb.Text("--class", "Air at the limit of this ISO class.", "CLASS");
        Option<string[]> air = verb.Texts("--air", "Or what was counted, SIZE=CONCENTRATION like \"0.5 um=412 /m3\"; give each size.", "SIZE=CONC");
        Option<string?> outer = verb.Text("--outer", "Outer diameter of the platter (usually 95 mm).", "LENGTH"), inner = verb.Text("--inner", "Diameter of its hole (usually 25 mm).", "LENGTH");
        Option<string?> open = verb.Text("--open", "How long the lid is off.", "TIME", required: true);
        Option<string?> density = verb.Text("--density", "Of the particles (usually 1000 kg/m3).", "DENSITY"), clearance = verb.Text("--clearance", "Between head and surface (usually 2 nm).", "LENGTH");
        return verb.Runs(run =>
        {
            IReadOnlyList<(Length Size, Concentration AtLeast)> over = run.Get(isoClass) is { } text
                ? Deposition.AirAtLimit(AirTable.Read(run.Shelf).OrStop(), LabRun.As<IsoClass>("--class", text, IsoClass.TryRead))
                : Counted(run.Get(air) ?? []);
            Length outside = run.Or<Length>(outer, LabRun.Size, Length.FromMillimetres(95)), hole = run.Or<Length>(inner, LabRun.Size, Length.FromMillimetres(25)), gap = run.Or<Length>(clearance, LabRun.Size, new Length(2e-9));
            if (outside.Metres <= hole.Metres || gap.Metres <= 0)
                throw new BadInputException("the outer diameter must be above the inner one, and the clearance above 0");
            Deposition fall = Deposition.On(over, run.Or<Density>(density, Quantity.TryRead, Settling.UnitDensity), Deposition.PlatterFace(outside, hole), run.Need<TimeSpan>(open, Durations.TryRead), gap);
            return run.Output.Show(new { fall.Ranges, fall.Surface, fall.Open, fall.Expected, fall.None }, o => People(o, fall));
        });
    }

    private static (Length, Concentration)[] Counted(string[] pairs)
    {
        (Length Size, Concentration AtLeast)[] air = [.. pairs.Select(Pair).OrderBy(p => p.Item1.Metres)];
        if (air.Length == 0)
            throw new BadInputException("--class or --air is needed: what is in the air?");
        if (air.Zip(air.Skip(1)).Any(p => p.First.AtLeast.PerCubicMetre < p.Second.AtLeast.PerCubicMetre))
            throw new BadInputException("--air: a larger size has more particles than a smaller one; concentrations are of a size and larger");
        return air.Any(a => a.Size.Micrometres is < 0.01 or > 50) ? throw new BadInputException("--air: sizes from 0.01 µm to 50 µm are computed") : air;
    }

    private static (Length, Concentration) Pair(string text) => text.Split('=') is [var size, var concentration]
        ? (LabRun.As<Length>("--air", size, Quantity.TryRead), LabRun.As<Concentration>("--air", concentration, Quantity.TryRead))
        : throw new BadInputException($"--air '{text}': write SIZE=CONCENTRATION, like \"0.5 um=412 /m3\"");

    private static void People(LabOutput o, Deposition fall)
    {
        o.Say($"About {fall.Expected:0.00} particles on {fall.Surface.SquareMetres * 1e4:0.0} cm² in {Durations.Write(fall.Open)}; none with {fall.None}. Estimated, gravity only: charge, turbulence and sleeves bring more.");
        o.Table("By size", ["size", "in air per m³", "falls, m/s", "expected", "times the heads' clearance"], fall.Ranges.Select(r => (string[])
            [r.To is { } to ? $"{r.From.Micrometres:0.##} to {to.Micrometres:0.##} µm" : $"{r.From.Micrometres:0.##} µm and more", $"{r.Concentration.PerCubicMetre:0.##}", $"{r.Velocity.MetresPerSecond:0.00E+0}", $"{r.Expected:0.0000}", $"{r.TimesClearance:0}"]));
        o.Say("A particle of any of these sizes stands far above the heads' clearance; what is smaller is not counted and can still enter the gap. The surface is looked at before the lid goes on.");
    }
}
