using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>Sectors that a drive did not give, in runs of random places and lengths.</summary>
internal static class Holes
{
    /// <summary>Takes about a share of the disk away.</summary>
    public static HoledView Punch(ISectorView disk, double share, int seed, long longestBytes = 32 * 1024)
    {
        var random = new Random(seed);
        var holes = new List<ByteRange>();
        for (long left = (long)(disk.Length * share); left > 0; left -= holes[^1].Length)
        {
            long length = Math.Min(random.NextInt64(512, longestBytes), left);
            long start = random.NextInt64(disk.Length);
            holes.Add(new ByteRange(start, Math.Min(length, disk.Length - start)));
        }

        return new HoledView(disk, holes);
    }

    public static bool IsHeld(ISectorView disk, ByteRange range) => !disk.Missing(range).Any();
}
