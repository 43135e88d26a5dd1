using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>The volume header that the held bytes give: the main one, else the copy near the volume's end.</summary>
internal sealed record FoundHeader(VolumeHeader Header, Origin Origin, Certainty Certainty, IReadOnlyList<string> Notes)
{
    public static FoundHeader? In(ISectorView volume)
    {
        Parsed<VolumeHeader> main = At(volume, VolumeHeader.At);
        VolumeHeader? copy = Copy(volume, main.OrNone);
        return main.Match(
            value: header => FromMain(header, copy),
            damaged: damage => copy is null ? null : FromCopy(copy, Standing(volume), $"main volume header damaged at byte {damage.At}: {damage.What}; its copy is used"),
            notHeld: () => copy is null ? null : FromCopy(copy, Certainty.Likely, "main volume header not held; its copy is used"));
    }

    private static FoundHeader FromMain(VolumeHeader main, VolumeHeader? copy)
    {
        if (copy is null)
            return new FoundHeader(main, Origin.Table, Certainty.Likely, ["the copy of the volume header is not held or damaged"]);
        return copy.Shape == main.Shape
            ? new FoundHeader(main, Origin.Table, Certainty.Sure, [])
            : new FoundHeader(main, Origin.Table, Certainty.Likely, [$"the copy of the volume header speaks of {copy.Shape.TotalBlocks} blocks of {copy.Shape.BlockBytes} bytes"]);
    }

    private static FoundHeader FromCopy(VolumeHeader copy, Certainty certainty, string note) => new(copy, Origin.Copy, certainty, [note]);

    // Something else where the main header was may mean that the volume is a former one and its blocks are another's now.
    private static Certainty Standing(ISectorView volume)
    {
        Span<byte> sector = stackalloc byte[VolumeHeader.Length];
        volume.TryRead(VolumeHeader.At, sector);
        return sector.ContainsAnyExcept((byte)0) && sector[0] != 'H' ? Certainty.Guessed : Certainty.Likely;
    }

    private static VolumeHeader? Copy(ISectorView volume, VolumeHeader? main)
    {
        VolumeHeader? atEnd = At(volume, volume.Length - VolumeHeader.At).OrNone;
        return atEnd is null && main is not null ? At(volume, main.Shape.Bytes - VolumeHeader.At).OrNone : atEnd;
    }

    private static Parsed<VolumeHeader> At(ISectorView volume, long offset)
    {
        Span<byte> sector = stackalloc byte[VolumeHeader.Length];
        return volume.TryRead(offset, sector) ? VolumeHeader.Read(sector) : new Parsed<VolumeHeader>.NotHeld();
    }
}
