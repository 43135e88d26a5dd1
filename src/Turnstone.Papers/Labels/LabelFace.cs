using SkiaSharp;

namespace Turnstone.Papers.Labels;

/// <summary>The face of one label: code left, words right.</summary>
/// <param name="stock">Its size.</param>
/// <param name="scale">Units of the canvas in a millimetre.</param>
internal sealed class LabelFace(LabelStock stock, float scale)
{
    // Printers pull by a millimetre: nothing stands nearer to the edge.
    private const double Margin = 1.0;

    // Advice of the inventor of QR Code: at least 4 dots a square (printing guide, as quoted by makers).
    private const int FewestDots = 4;

    /// <summary>Why the code doesn't fit on the label; null where it does.</summary>
    public static string? Fits(LabelStock stock, CodeMatrix code) => Dots(stock, code) >= FewestDots
        ? null
        : $"the code needs {code.WholeSide * FewestDots * 25.4 / stock.DotsPerInch:0.0} mm and '{stock.Name}' leaves {Room(stock):0.0} mm; take larger labels, a data matrix, or a printer with more dots";

    /// <summary>Draws it with its top left corner at the canvas's origin.</summary>
    public void Draw(SKCanvas canvas, Label label, CodeMatrix code)
    {
        float square = (float)(Dots(stock, code) * 25.4 / stock.DotsPerInch) * scale;
        float side = square * code.WholeSide, top = ((float)stock.Height.Millimetres * scale - side) / 2;
        // On whole units, so that a picture's squares have sharp edges.
        Squares(canvas, code, MathF.Round((float)Margin * scale), MathF.Round(top), square);
        float left = (float)Margin * scale + side + (float)(Margin * scale), width = (float)(stock.Width.Millimetres - Margin) * scale - left;
        Words(canvas, label, left, width);
    }

    private static int Dots(LabelStock stock, CodeMatrix code) => (int)(Room(stock) * stock.DotsPerInch / 25.4 / code.WholeSide);

    // At most half of the width: the words need the rest.
    private static double Room(LabelStock stock) => Math.Min(stock.Height.Millimetres - (2 * Margin), (stock.Width.Millimetres / 2) - Margin);

    // One path for all squares: drawn one by one, a sheet shows hairlines between neighbours, and readers stumble over them.
    private static void Squares(SKCanvas canvas, CodeMatrix code, float left, float top, float square)
    {
        using var squares = new SKPathBuilder();
        for (int row = 0; row < code.Side; row++)
        {
            for (int column = 0; column < code.Side; column++)
            {
                if (code.IsDark(column, row))
                    squares.AddRect(SKRect.Create(left + ((column + code.Quiet) * square), top + ((row + code.Quiet) * square), square, square), SKPathDirection.Clockwise);
            }
        }

        using SKPath path = squares.Detach();
        using var paint = new SKPaint { Color = SKColors.Black, IsAntialias = false };
        canvas.DrawPath(path, paint);
    }

    private void Words(SKCanvas canvas, Label label, float left, float width)
    {
        float height = (float)stock.Height.Millimetres * scale, baseline = height * 0.1f;
        foreach ((string text, SKTypeface face, float share) in new[] { (label.Mark, PaperFont.Bold, 0.34f), (label.Serial, PaperFont.Regular, 0.17f), (label.Line, PaperFont.Regular, 0.15f) })
        {
            if (text.Length == 0)
                continue;
            using var font = new SKFont(face, height * share);
            font.Size *= Math.Min(1, width / font.MeasureText(text));
            baseline += height * (share + 0.08f);
            using var paint = new SKPaint { Color = SKColors.Black, IsAntialias = true };
            canvas.DrawText(text, left, baseline, SKTextAlign.Left, font, paint);
        }
    }
}
