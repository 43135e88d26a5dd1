using System.Buffers.Binary;
using System.Runtime.InteropServices;
using Turnstone.Media;
using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>A stretch of clusters that an entry of the root folder names.</summary>
internal readonly record struct RootStream(uint FirstCluster, long Bytes, uint Checksum);

/// <summary>The entries that only the root folder has: label, allocation bitmap, up-case table.</summary>
/// <remarks>Microsoft, exFAT file system specification, sections 7.1 to 7.3.</remarks>
internal sealed record RootEntries
{
    // They are written when the volume is made, so they stand at its front; a label added later takes the first free slot.
    private const long Looked = 1 << 20;
    private const byte Bitmap = 0x81, UpCase = 0x82, Label = 0x83;
    private const int BitmapFlags = 1, TableChecksum = 4, FirstCluster = 20, DataLength = 24, MostLabel = 11;

    public RootStream? BitmapStream { get; private init; }

    public RootStream? UpCaseStream { get; private init; }

    public string? VolumeLabel { get; private init; }

    /// <summary>Reads them as far as they are held.</summary>
    /// <param name="volume">The volume.</param>
    /// <param name="places">Where the root folder lies.</param>
    /// <param name="activeBitmap">Number of the bitmap that counts: 0, or 1 where the second table is active.</param>
    public static RootEntries Read(ISectorView volume, IEnumerable<ByteRange> places, int activeBitmap)
    {
        var entries = new RootEntries();
        long looked = 0;
        foreach (Stretch stretch in Stretches.Read(volume, places, place => (looked += place.Length) <= Looked))
        {
            for (int at = 0; at + EntrySet.Slot <= stretch.Bytes.Length; at += EntrySet.Slot)
            {
                ReadOnlySpan<byte> slot = stretch.Bytes.Span.Slice(at, EntrySet.Slot);
                if (slot[0] == 0)
                    return entries;
                entries = entries.With(slot, activeBitmap);
            }
        }

        return entries;
    }

    private RootEntries With(ReadOnlySpan<byte> slot, int activeBitmap) => slot[0] switch
    {
        Bitmap when (slot[BitmapFlags] & 1) == activeBitmap => this with { BitmapStream = BitmapStream ?? StreamOf(slot) },
        UpCase => this with { UpCaseStream = UpCaseStream ?? StreamOf(slot) },
        Label => this with { VolumeLabel = VolumeLabel ?? LabelOf(slot) },
        _ => this,
    };

    private static RootStream StreamOf(ReadOnlySpan<byte> slot) => new(
        BinaryPrimitives.ReadUInt32LittleEndian(slot[FirstCluster..]),
        (long)Math.Min(BinaryPrimitives.ReadUInt64LittleEndian(slot[DataLength..]), long.MaxValue),
        BinaryPrimitives.ReadUInt32LittleEndian(slot[TableChecksum..]));

    private static string LabelOf(ReadOnlySpan<byte> slot) =>
        new(MemoryMarshal.Cast<byte, char>(slot.Slice(2, 2 * Math.Min(slot[1], (byte)MostLabel))));
}
