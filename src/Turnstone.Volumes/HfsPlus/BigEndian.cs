using System.Buffers.Binary;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Numbers of a structure by their offset: everything on an HFS+ volume but the journal has its highest byte first.</summary>
internal static class BigEndian
{
    public static ushort U16(this ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadUInt16BigEndian(bytes[at..]);

    public static uint U32(this ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadUInt32BigEndian(bytes[at..]);

    /// <summary>UTF-16 as it stands, a lone surrogate included, which a text decoder would replace.</summary>
    public static string Text(this ReadOnlySpan<byte> bytes) => string.Create(bytes.Length / 2, bytes, static (text, from) =>
    {
        for (int i = 0; i < text.Length; i++)
            text[i] = (char)from.U16(2 * i);
    });

    public static ulong U64(this ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadUInt64BigEndian(bytes[at..]);
}
