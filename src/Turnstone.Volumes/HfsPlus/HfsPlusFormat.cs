using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>HFS+ and HFSX, on their own or inside an HFS wrapper.</summary>
internal sealed class HfsPlusFormat : IVolumeFormat
{
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        ByteRange place = HfsWrapper.Inner(part) ?? new ByteRange(0, part.Length);
        var volume = new PartView(part, place);
        return FoundHeader.In(volume) is { } found
            ? [new HfsPlusVolume(new VolumePlace(volume, part.Part.Offset + place.Offset, place.Offset), name, found)]
            : [];
    }
}

/// <summary>A volume's bytes and where they lie.</summary>
/// <param name="View">The volume, from its own first byte.</param>
/// <param name="SourceOffset">Where its first byte lies on the source.</param>
/// <param name="WrapperBytes">Bytes of an HFS wrapper in front of it; 0 where there is none.</param>
internal sealed record VolumePlace(ISectorView View, long SourceOffset, long WrapperBytes);
