using SkiaSharp;

namespace Turnstone.Papers.Labels;

/// <summary>What stands on a label.</summary>
/// <param name="Mark">Large: the mark, with the part.</param>
/// <param name="Serial">The whole serial number.</param>
/// <param name="Line">One more line; may be empty.</param>
/// <param name="Code">What the code holds.</param>
public sealed record Label(string Mark, string Serial, string Line, string Code);

/// <summary>Draws labels for one kind of stock, as pictures for a label printer or as sheets.</summary>
/// <param name="stock">The labels.</param>
/// <param name="kind">Which code they carry.</param>
public sealed class LabelPrint(LabelStock stock, CodeKind kind)
{
    private const float PointsPerMillimetre = 72 / 25.4f;

    /// <summary>Draws one label as a PNG at the printer's resolution; a square of the code is a whole number of dots.</summary>
    /// <returns>Why it can't be drawn; null where it is.</returns>
    public string? TryPng(Label label, out byte[] png)
    {
        png = [];
        CodeMatrix code = CodeMatrix.Of(label.Code, kind);
        if (LabelFace.Fits(stock, code) is { } wrong)
            return wrong;
        float dots = stock.DotsPerInch / 25.4f;
        using var bitmap = new SKBitmap((int)Math.Round(stock.Width.Millimetres * dots), (int)Math.Round(stock.Height.Millimetres * dots), SKColorType.Rgba8888, SKAlphaType.Opaque);
        using (var canvas = new SKCanvas(bitmap))
        {
            canvas.Clear(SKColors.White);
            new LabelFace(stock, dots).Draw(canvas, label, code);
        }

        using SKData data = bitmap.Encode(SKEncodedImageFormat.Png, 100);
        png = data.ToArray();
        return null;
    }

    /// <summary>Draws labels on sheets (or, on a roll, one a page) as a PDF. The same labels give the same bytes.</summary>
    /// <param name="labels">In order, row by row.</param>
    /// <param name="skip">How many labels of the first sheet are gone already.</param>
    /// <param name="pdf">The document.</param>
    /// <returns>Why it can't be drawn; null where it is.</returns>
    public string? TryPdf(IReadOnlyList<Label> labels, int skip, out byte[] pdf)
    {
        pdf = [];
        CodeMatrix[] codes = [.. labels.Select(l => CodeMatrix.Of(l.Code, kind))];
        if (codes.Select(c => LabelFace.Fits(stock, c)).FirstOrDefault(w => w is not null) is { } wrong)
            return wrong;
        using var stream = new MemoryStream();
        using (SKDocument document = SKDocument.CreatePdf(stream, new SKDocumentPdfMetadata { Title = "Labels" }))
        {
            for (int at = 0; at < labels.Count;)
                at += Page(document, labels, codes, at, at == 0 ? skip % stock.PerPage : 0);
            document.Close();
        }

        pdf = stream.ToArray();
        return null;
    }

    private int Page(SKDocument document, IReadOnlyList<Label> labels, CodeMatrix[] codes, int first, int skip)
    {
        int count = Math.Min(stock.PerPage - skip, labels.Count - first);
        SKCanvas canvas = document.BeginPage((float)stock.PageWidth.Millimetres * PointsPerMillimetre, (float)stock.PageHeight.Millimetres * PointsPerMillimetre);
        for (int i = 0; i < count; i++)
        {
            int place = skip + i;
            canvas.Save();
            canvas.Translate(
                (float)(stock.Left.Millimetres + (place % stock.Columns * stock.ColumnStep.Millimetres)) * PointsPerMillimetre,
                (float)(stock.Top.Millimetres + (place / stock.Columns * stock.RowStep.Millimetres)) * PointsPerMillimetre);
            new LabelFace(stock, PointsPerMillimetre).Draw(canvas, labels[first + i], codes[first + i]);
            canvas.Restore();
        }

        document.EndPage();
        return count;
    }
}
