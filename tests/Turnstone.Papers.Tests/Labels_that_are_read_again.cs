using SkiaSharp;
using Turnstone.Bench;
using Turnstone.Lab.Documents;
using Turnstone.Papers.Labels;
using UglyToad.PdfPig;
using ZXing;
using ZXing.Common;

namespace Turnstone.Papers.Tests;

/// <summary>QR codes are made with one library and read with another; Data Matrix codes are read with Debian's dmtxread, sheets drawn by poppler and read with zbarimg.</summary>
public sealed class Labels_that_are_read_again : IDisposable
{
    private static readonly LabelStocks Stocks = LabelStocks.Read(TableShelf.Shipped).Match(s => s, f => throw new InvalidOperationException(f.ToString()));
    private readonly TempFolder _folder = new();

    public static TheoryData<string> AllStocks => [.. Stocks.Stocks.Select(s => s.Name)];

    [Theory]
    [MemberData(nameof(AllStocks))]
    public void A_qr_label_of_every_stock_is_read_back(string stock) =>
        Assert.Equal("WQX4417KQ/HEADS", QrIn(Png(stock, CodeKind.Qr, Made("WQX4417KQ/HEADS"))));

    [Fact]
    public void Any_serial_number_is_read_back_by_a_second_reader_too() => Gen.Char['!', '~'].Array[3, 24].Sample(serial =>
    {
        File.WriteAllBytes(_folder["any.png"], Png("roll-62x29", CodeKind.Qr, Made(new string(serial))));
        Assert.Equal(new string(serial), Zbar(_folder["any.png"]));
    }, iter: 40, threads: 1);

    [Theory]
    [MemberData(nameof(AllStocks))]
    public void A_data_matrix_label_of_every_stock_is_read_back(string stock)
    {
        File.WriteAllBytes(_folder["label.png"], Png(stock, CodeKind.DataMatrix, Made("WQX4417KQ/HEADS")));
        Assert.Equal("WQX4417KQ/HEADS", Tool.Run("dmtxread", "--stop-after=1", "--milliseconds=20000", _folder["label.png"]).Trim());
    }

    [Fact]
    public void A_sheet_has_every_label_in_its_place_and_each_code_is_read_back()
    {
        string[] serials = [.. Enumerable.Range(0, 5).Select(i => $"WQX44{i}7KQ")];
        File.WriteAllBytes(_folder["sheet.pdf"], Pdf("a4-3x8", serials, skip: 22));
        Tool.Run("pdftoppm", "-r", "300", "-png", _folder["sheet.pdf"], _folder["page"]);
        Assert.Equal(serials[..2], CodesAt(_folder["page-1.png"], [22, 23]));
        Assert.Equal(serials[2..], CodesAt(_folder["page-2.png"], [0, 1, 2]));
    }

    [Fact]
    public void A_sheets_words_can_be_read_from_the_document()
    {
        using PdfDocument document = PdfDocument.Open(Pdf("a4-3x8", ["WQX4417KQ"], skip: 0));
        // Pages are whole points: a third of a millimetre at most.
        Assert.Equal((595, 842), (document.GetPage(1).Width, document.GetPage(1).Height));
        Assert.Contains("WQX4417KQ", document.GetPage(1).Text);
    }

    [Fact]
    public void A_roll_has_one_label_a_page()
    {
        using PdfDocument document = PdfDocument.Open(Pdf("roll-62x29", ["WQX4417KQ", "WQX4404MT", "WQX4405XX"], skip: 0));
        Assert.Equal(3, document.NumberOfPages);
        Assert.Equal(62 * 72 / 25.4, document.GetPage(1).Width, 0.5);
    }

    [Fact]
    public void The_same_labels_give_the_same_bytes() => Assert.Equal(Pdf("a4-3x8", ["WQX4417KQ"], 0), Pdf("a4-3x8", ["WQX4417KQ"], 0));

    [Fact]
    public void A_code_that_does_not_fit_is_refused_with_advice() =>
        Assert.Contains("take larger labels, a data matrix, or a printer with more dots",
            new LabelPrint(Stock("roll-40x14"), CodeKind.Qr).TryPng(Made(new string('x', 60)), out _));

    [Fact]
    public void An_unknown_stock_lists_the_ones_there_are() =>
        Assert.Contains("roll-62x29", Stocks.Find("a5").Match(_ => "", f => f.What));

    [Fact]
    public void A_stock_whose_labels_run_over_the_sheet_is_refused()
    {
        string text = TableShelf.Shipped["labels.json"].Replace("\"columns\": 3", "\"columns\": 4");
        TableShelf edited = TableShelf.Shipped.With([("labels.json", text)]).Match(s => s, f => throw new InvalidOperationException(f.ToString()));
        Assert.Contains("wider than the sheet", LabelStocks.Read(edited).Match(_ => "", f => f.ToString()));
    }

    [Fact]
    public void Both_faces_of_the_typeface_and_their_licence_are_in_the_program()
    {
        Assert.Equal("Atkinson Hyperlegible Mono", PaperFont.Regular.FamilyName.Replace(" ExtraLight", ""));
        Assert.True(PaperFont.Bold.IsBold);
        Assert.Contains(typeof(PaperFont).Assembly.GetManifestResourceNames(), n => n.EndsWith("LICENSE-OFL.txt", StringComparison.Ordinal));
    }

    public void Dispose() => _folder.Dispose();

    private static Label Made(string code) => new("7KQ-HEADS", code.Split('/')[0], "case 2026-014", code);

    private static LabelStock Stock(string name) => Stocks.Find(name).Match(s => s, f => throw new InvalidOperationException(f.ToString()));

    private static byte[] Png(string stock, CodeKind kind, Label label)
    {
        Assert.Null(new LabelPrint(Stock(stock), kind).TryPng(label, out byte[] png));
        return png;
    }

    private static byte[] Pdf(string stock, string[] serials, int skip)
    {
        Assert.Null(new LabelPrint(Stock(stock), CodeKind.Qr).TryPdf([.. serials.Select(Made)], skip, out byte[] pdf));
        return pdf;
    }

    private static string? QrIn(byte[] png)
    {
        using SKBitmap bitmap = SKBitmap.Decode(png);
        return Reader().Decode(Grey(bitmap))?.Text;
    }

    // Each label is cut out first, as a hand-held reader sees it.
    private IEnumerable<string> CodesAt(string page, int[] places)
    {
        using SKBitmap whole = SKBitmap.Decode(page);
        LabelStock stock = Stock("a4-3x8");
        double dots = 300 / 25.4;
        foreach (int place in places)
        {
            var cut = SKRectI.Create(
                (int)((stock.Left.Millimetres + (place % stock.Columns * stock.ColumnStep.Millimetres)) * dots), (int)((stock.Top.Millimetres + (place / stock.Columns * stock.RowStep.Millimetres)) * dots),
                (int)(stock.Width.Millimetres * dots) - 2, (int)(stock.Height.Millimetres * dots) - 2);
            using var label = new SKBitmap();
            whole.ExtractSubset(label, cut);
            using SKData data = label.Encode(SKEncodedImageFormat.Png, 100);
            File.WriteAllBytes(_folder["cut.png"], data.ToArray());
            yield return Zbar(_folder["cut.png"]);
        }
    }

    private static string Zbar(string picture) => Tool.Run("zbarimg", "--quiet", "--raw", picture).TrimEnd('\n');

    private static BarcodeReaderGeneric Reader() => new() { Options = new DecodingOptions { PossibleFormats = [BarcodeFormat.QR_CODE], TryHarder = true, CharacterSet = "UTF-8" } };

    private static RGBLuminanceSource Grey(SKBitmap bitmap)
    {
        using SKBitmap rgba = bitmap.Copy(SKColorType.Rgba8888);
        return new RGBLuminanceSource(rgba.Bytes, rgba.Width, rgba.Height, RGBLuminanceSource.BitmapFormat.RGBA32);
    }
}
