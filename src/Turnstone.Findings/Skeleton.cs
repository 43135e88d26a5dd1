using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>How much of a volume's own tables and folders is held. With any of it missing there may be files that no list shows.</summary>
/// <param name="Bytes">Bytes of tables and folders, as far as their places are known.</param>
/// <param name="Missing">Bytes of those that are not held.</param>
public readonly record struct Skeleton(long Bytes, long Missing)
{
    /// <summary>Adds up one volume; stretches that a volume names twice count once.</summary>
    public static Skeleton Of(Volume volume, ISectorView held)
    {
        long bytes = 0, missing = 0;
        foreach (ByteRange place in volume.Skeleton().OrderBy(place => place.Offset).Joined())
        {
            bytes += place.Length;
            missing += held.Missing(place).Sum(hole => hole.Length);
        }

        return new Skeleton(bytes, missing);
    }
}
