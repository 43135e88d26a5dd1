using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>What is held of a view, as the complement of what is missing.</summary>
internal static class Held
{
    /// <summary>The parts of the range that are held, in order.</summary>
    public static IEnumerable<ByteRange> In(ISectorView view, ByteRange range)
    {
        long at = range.Offset;
        foreach (ByteRange hole in view.Missing(range))
        {
            if (hole.Offset > at)
                yield return ByteRange.Between(at, hole.Offset);
            at = hole.End;
        }

        if (at < range.End)
            yield return ByteRange.Between(at, range.End);
    }
}
