using Turnstone.Media;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>What came of reading a stretch of metadata.</summary>
/// <param name="Origin">The journal, where any byte came from there.</param>
/// <param name="Holes">Parts of the buffer that are not held, in order.</param>
internal readonly record struct Held(Origin Origin, IReadOnlyList<ByteRange> Holes)
{
    public static Held Whole { get; } = new(Origin.Table, []);

    public bool IsWhole => Holes.Count == 0;

    public bool Has(int start, int length)
    {
        foreach (ByteRange hole in Holes)
        {
            if (hole.Offset < start + length && start < hole.End)
                return false;
        }

        return true;
    }

    /// <summary>The stretches between the holes of a buffer.</summary>
    public static IEnumerable<ByteRange> Between(IEnumerable<ByteRange> holes, ByteRange whole)
    {
        long at = whole.Offset;
        foreach (ByteRange hole in holes)
        {
            if (hole.Offset > at)
                yield return ByteRange.Between(at, hole.Offset);
            at = hole.End;
        }

        if (at < whole.End)
            yield return ByteRange.Between(at, whole.End);
    }
}
