using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>A volume's place and its sizes: what turns clusters into bytes.</summary>
/// <param name="Part">Where the volume lies.</param>
/// <param name="Boot">Its boot sector.</param>
internal sealed record NtfsLayout(PartView Part, NtfsBootSector Boot)
{
    /// <summary>First byte of the volume on the source.</summary>
    public long Base => Part.Part.Offset;

    /// <summary>A place of the volume as a place of the source.</summary>
    public ByteRange OnSource(ByteRange place) => new(Base + place.Offset, place.Length);

    /// <summary>The most clusters that an attribute can have before its bytes leave a long; sparse files may be larger than the volume.</summary>
    public long AttributeClustersMax => (1L << 61) / Boot.ClusterBytes;
}

/// <summary>Weighs two judgements of the same thing.</summary>
internal static class Certainties
{
    /// <summary>The less sure of the two.</summary>
    public static Certainty LessSure(this Certainty one, Certainty other) => one > other ? one : other;
}
