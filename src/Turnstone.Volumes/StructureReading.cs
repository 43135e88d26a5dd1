using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>Reads one structure from its bytes.</summary>
internal delegate Parsed<T> StructureParser<T>(ReadOnlySpan<byte> bytes);

/// <summary>Hands a structure's bytes to its parser, or says that they are not held.</summary>
internal static class StructureReading
{
    /// <summary>Reads a structure of a length that the code, not the disk, chose.</summary>
    public static Parsed<T> Parse<T>(this ISectorView view, long offset, int length, StructureParser<T> parser)
    {
        var bytes = new byte[length];
        return view.TryRead(offset, bytes) ? parser(bytes) : new Parsed<T>.NotHeld();
    }
}
