using System.Globalization;
using System.Text;

namespace Turnstone.Patients.Rehearsals;

/// <summary>One line of a chart.</summary>
/// <param name="Name">Written at its end.</param>
/// <param name="Points">From left to right.</param>
/// <param name="Stepped">Whether the value holds until the next point; else points are joined straight.</param>
public sealed record ChartLine(string Name, IReadOnlyList<(double X, double Y)> Points, bool Stepped = true);

/// <summary>A line chart as SVG: each line with its own colour and dash, so that print and colour-blind readers lose nothing.</summary>
/// <remarks>Colours are from the Okabe-Ito set, those kept out that mean a sector's state in the read map.</remarks>
public sealed record LineChart
{
    private const int Left = 62, Top = 34, Bottom = 46, Right = 16;

    private static readonly (string Colour, string Dash)[] Pens =
        [("#000000", ""), ("#009E73", "7 3"), ("#D55E00", "2 3"), ("#56B4E9", "9 3 2 3"), ("#8A7B00", "4 2"), ("#5E5E5E", "12 4")];

    /// <summary>What it shows.</summary>
    public required string Title { get; init; }

    /// <summary>What goes to the right, with its unit.</summary>
    public required string XLabel { get; init; }

    /// <summary>What goes up, with its unit.</summary>
    public required string YLabel { get; init; }

    /// <summary>Right end of the scale.</summary>
    public required double XMost { get; init; }

    /// <summary>Upper end of the scale; null for a round number above the highest line.</summary>
    public double? YMost { get; init; }

    /// <summary>The lines.</summary>
    public required IReadOnlyList<ChartLine> Lines { get; init; }

    /// <summary>Several charts side by side in one picture, with one legend below.</summary>
    /// <param name="heading">Written above all.</param>
    /// <param name="charts">From left to right; all with the same lines.</param>
    /// <param name="columns">Charts in one row.</param>
    public static string Sheet(string heading, IReadOnlyList<LineChart> charts, int columns)
    {
        const int Width = 470, Height = 300;
        int rows = (charts.Count + columns - 1) / columns, width = Width * Math.Min(columns, charts.Count), legend = 40 + (rows * Height);
        var svg = new StringBuilder();
        svg.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {legend + 34}\" width=\"{width}\" height=\"{legend + 34}\" font-family=\"Liberation Sans, DejaVu Sans, sans-serif\" font-size=\"12\">\n");
        svg.Append("<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"16\" y=\"26\" font-size=\"17\" font-weight=\"bold\">{Escape(heading)}</text>\n");
        for (int i = 0; i < charts.Count; i++)
            charts[i].Draw(svg, i % columns * Width, 40 + (i / columns * Height), Width, Height);
        double x = 20;
        for (int i = 0; i < charts[0].Lines.Count; i++)
        {
            string name = charts[0].Lines[i].Name;
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{x:0} {legend + 14}h34\" {Pen(i)}/><text x=\"{x + 40:0}\" y=\"{legend + 18}\">{Escape(name)}</text>\n");
            x += 64 + (name.Length * 7);
        }

        return svg.Append("</svg>\n").ToString();
    }

    private static string Pen(int line)
    {
        (string colour, string dash) = Pens[line % Pens.Length];
        return $"fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\" stroke-linejoin=\"round\"" + (dash.Length > 0 ? $" stroke-dasharray=\"{dash}\"" : "");
    }

    private static string Escape(string text) => System.Security.SecurityElement.Escape(text);

    /// <summary>A step of 1, 2 or 5 times a power of ten that cuts the scale into four to ten parts.</summary>
    private static double Step(double most)
    {
        double power = Math.Pow(10, Math.Floor(Math.Log10(most)));
        return (most / power) switch
        {
            <= 1.0001 => power / 5,
            <= 2.0001 => power / 2,
            <= 5.0001 => power,
            _ => power * 2,
        };
    }

    private void Draw(StringBuilder svg, int atX, int atY, int width, int height)
    {
        double highest = Lines.SelectMany(l => l.Points).Select(p => p.Y).DefaultIfEmpty(0).Max();
        double step = Step(YMost ?? (highest > 0 ? highest : 1)), yMost = YMost ?? (Math.Ceiling((highest > 0 ? highest : 1) / step) * step);
        (double plotWidth, double plotHeight) = (width - Left - Right, height - Top - Bottom);
        double X(double x) => atX + Left + (x / XMost * plotWidth);
        double Y(double y) => atY + Top + plotHeight - (y / yMost * plotHeight);
        svg.Append(CultureInfo.InvariantCulture, $"<g><text x=\"{atX + Left}\" y=\"{atY + 22}\" font-size=\"14\">{Escape(Title)}</text>\n");
        for (double y = 0; y <= yMost * 1.0001; y += step)
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{X(0):0.#} {Y(y):0.#}H{X(XMost):0.#}\" stroke=\"#d8d8d8\"/><text x=\"{X(0) - 6:0.#}\" y=\"{Y(y) + 4:0.#}\" text-anchor=\"end\">{y:0.###}</text>\n");
        for (double x = 0; x <= XMost * 1.0001; x += Step(XMost))
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{X(x):0.#} {Y(0):0.#}v5\" stroke=\"#444444\"/><text x=\"{X(x):0.#}\" y=\"{Y(0) + 18:0.#}\" text-anchor=\"middle\">{x:0.###}</text>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{X(0):0.#} {Y(yMost):0.#}V{Y(0):0.#}H{X(XMost):0.#}\" fill=\"none\" stroke=\"#444444\"/>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{X(XMost / 2):0.#}\" y=\"{atY + height - 8}\" text-anchor=\"middle\">{Escape(XLabel)}</text>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<text transform=\"translate({atX + 16} {Y(yMost / 2):0.#}) rotate(-90)\" text-anchor=\"middle\">{Escape(YLabel)}</text>\n");
        for (int i = 0; i < Lines.Count; i++)
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"{Path(Lines[i], X, Y)}\" {Pen(i)}/>\n");
        svg.Append("</g>\n");
    }

    private static string Path(ChartLine line, Func<double, double> x, Func<double, double> y)
    {
        var path = new StringBuilder();
        foreach ((double px, double py) in line.Points)
        {
            if (path.Length == 0)
                path.Append(CultureInfo.InvariantCulture, $"M{x(px):0.#} {y(py):0.#}");
            else if (line.Stepped)
                path.Append(CultureInfo.InvariantCulture, $"H{x(px):0.#}V{y(py):0.#}");
            else
                path.Append(CultureInfo.InvariantCulture, $"L{x(px):0.#} {y(py):0.#}");
        }

        return path.ToString();
    }
}
