using QRCoder;
using ZXing;
using ZXing.Common;
using ZXing.Datamatrix;
using ZXing.Datamatrix.Encoder;

namespace Turnstone.Papers.Labels;

/// <summary>Which code a label carries.</summary>
public enum CodeKind
{
    /// <summary>QR Code, ISO/IEC 18004, correction level M.</summary>
    Qr,

    /// <summary>Data Matrix ECC 200, ISO/IEC 16022, square.</summary>
    DataMatrix,
}

/// <summary>A code as dark and light squares.</summary>
/// <param name="Side">Squares on a side, without the quiet zone.</param>
/// <param name="Quiet">Light squares that must stay around it: 4 for QR, 1 for Data Matrix.</param>
/// <param name="IsDark">Whether the square in that column and row is dark.</param>
public sealed record CodeMatrix(int Side, int Quiet, Func<int, int, bool> IsDark)
{
    /// <summary>Squares on a side with the quiet zone.</summary>
    public int WholeSide => Side + (2 * Quiet);

    /// <summary>Makes the code for a text of printable ASCII.</summary>
    public static CodeMatrix Of(string text, CodeKind kind) => kind switch { CodeKind.Qr => Qr(text), CodeKind.DataMatrix => DataMatrix(text) };

    private static CodeMatrix Qr(string text)
    {
        using var generator = new QRCodeGenerator();
        using QRCodeData data = generator.CreateQrCode(text, QRCodeGenerator.ECCLevel.M);
        // The library draws the quiet zone of 4 into its matrix.
        const int Around = 4;
        bool[][] dark = [.. data.ModuleMatrix.Select(r => r.Cast<bool>().ToArray())];
        return new CodeMatrix(dark.Length - (2 * Around), Around, (column, row) => dark[row + Around][column + Around]);
    }

    private static CodeMatrix DataMatrix(string text)
    {
        var hints = new Dictionary<EncodeHintType, object> { [EncodeHintType.DATA_MATRIX_SHAPE] = SymbolShapeHint.FORCE_SQUARE, [EncodeHintType.MARGIN] = 0 };
        BitMatrix bits = new DataMatrixWriter().encode(text, BarcodeFormat.DATA_MATRIX, 0, 0, hints);
        return new CodeMatrix(bits.Width, 1, (column, row) => bits[column, row]);
    }
}
