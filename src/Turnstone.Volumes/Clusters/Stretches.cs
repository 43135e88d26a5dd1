using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>Held bytes of a folder that follow each other.</summary>
/// <param name="Bytes">The bytes; valid until the next stretch is asked for.</param>
/// <param name="AfterGap">Whether bytes of the folder before these are missing.</param>
internal readonly record struct Stretch(ReadOnlyMemory<byte> Bytes, bool AfterGap);

/// <summary>Reads stretches of a volume as far as they are held.</summary>
internal static class Stretches
{
    private const int Most = 65_536;

    /// <summary>The held bytes of several places, in the order given; a hole inside or between places shows as a gap.</summary>
    /// <param name="volume">The volume.</param>
    /// <param name="places">Bytes of the volume.</param>
    /// <param name="goOn">Asked before each read; false ends it there.</param>
    public static IEnumerable<Stretch> Read(ISectorView volume, IEnumerable<ByteRange> places, Func<ByteRange, bool> goOn)
    {
        byte[] buffer = [];
        bool gap = false;
        foreach (ByteRange place in places)
        {
            foreach ((ByteRange held, bool afterHole) in Held(volume, place))
            {
                gap |= afterHole;
                for (long at = held.Offset; at < held.End; at += Most)
                {
                    int length = (int)Math.Min(Most, held.End - at);
                    if (!goOn(new ByteRange(at, length)))
                        yield break;
                    if (buffer.Length < length)
                        buffer = new byte[length];
                    if (!volume.TryRead(at, buffer.AsSpan(0, length)))
                        continue;
                    yield return new Stretch(buffer.AsMemory(0, length), gap);
                    gap = false;
                }
            }
        }
    }

    /// <summary>The held parts of a place and whether a hole lies before each; an empty part stands for a hole at the end.</summary>
    private static IEnumerable<(ByteRange Held, bool AfterHole)> Held(ISectorView volume, ByteRange place)
    {
        long at = place.Offset;
        bool afterHole = false;
        foreach (ByteRange hole in volume.Missing(place))
        {
            if (hole.Offset > at)
                yield return (ByteRange.Between(at, hole.Offset), afterHole);
            (at, afterHole) = (hole.End, true);
        }

        yield return (ByteRange.Between(at, Math.Max(at, place.End)), afterHole);
    }

    /// <summary>The parts of a place that are held.</summary>
    public static IEnumerable<ByteRange> HeldIn(ISectorView volume, ByteRange place) =>
        Held(volume, place).Select(part => part.Held).Where(held => !held.IsEmpty);
}
