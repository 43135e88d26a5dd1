using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>Recognises HFS+ and HFSX, on their own or inside an HFS wrapper, by the main volume header.</summary>
internal sealed class HfsPlusFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        VolumePlace place = VolumePlace.In(part);
        return FoundHeader.In(place.View) is { Origin: Origin.Table } found ? [new HfsPlusVolume(place, name, found)] : [];
    }
}

/// <summary>Recognises HFS+ and HFSX by the copy of the volume header, where the main one is not held or damaged.</summary>
/// <remarks>The copy outlives a new file system in the same place: where something else stands at the front, the catalog must be there, too.</remarks>
internal sealed class HfsPlusCopyFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        VolumePlace place = VolumePlace.In(part);
        return FoundHeader.In(place.View) is { Origin: Origin.Copy } found && (found.Certainty != Certainty.Guessed || new VolumeReading(place, found).Catalog.Header is not null)
            ? [new HfsPlusVolume(place, name, found)]
            : [];
    }
}

/// <summary>A volume's bytes and where they lie.</summary>
/// <param name="View">The volume, from its own first byte.</param>
/// <param name="SourceOffset">Where its first byte lies on the source.</param>
/// <param name="WrapperBytes">Bytes of an HFS wrapper in front of it; 0 where there is none.</param>
internal sealed record VolumePlace(ISectorView View, long SourceOffset, long WrapperBytes)
{
    /// <summary>The part itself, or what its wrapper holds.</summary>
    public static VolumePlace In(PartView part)
    {
        ByteRange inner = HfsWrapper.Inner(part) ?? new ByteRange(0, part.Length);
        return new VolumePlace(new PartView(part, inner), part.Part.Offset + inner.Offset, inner.Offset);
    }
}
