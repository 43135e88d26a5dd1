using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests;

/// <summary>Bends a real volume where its metadata lies: structure-aware damage from one seed.</summary>
/// <remarks>
/// Faults: bytes and bits changed, fields set to their extremes, slots of 32 bytes and whole sectors swapped, copied and
/// zeroed, exFAT checksums made to fit again after a change, sectors not held, the end cut off. One to thirty of them together.
/// </remarks>
internal sealed class Mutations(ISectorView image, IReadOnlyList<ByteRange> skeleton)
{
    private const int Sector = 512, Slot = 32;

    public ISectorView Of(int seed)
    {
        var random = new Random(seed);
        var view = new PatchedView(image);
        var holes = new List<ByteRange>();
        for (int i = random.Next(1, 30); i > 0; i--)
            Bend(view, random, holes);
        return random.Next(4) == 0 ? new HoledView(view, [.. holes, new ByteRange(image.Length / 2, random.NextInt64(image.Length / 2))]) : new HoledView(view, holes);
    }

    private void Bend(PatchedView view, Random random, List<ByteRange> holes)
    {
        long sector = Pick(random);
        byte[] bytes = Bytes(view, sector, Sector);
        switch (random.Next(9))
        {
            case 0:
                bytes[random.Next(Sector)] = (byte)random.Next(256);
                break;
            case 1:
                bytes[random.Next(Sector)] ^= (byte)(1 << random.Next(8));
                break;
            case 2:
                Extreme(bytes, random);
                break;
            case 3:
                Bytes(view, Pick(random), Sector).CopyTo(bytes, 0);
                break;
            case 4:
                bytes.AsSpan(random.Next(Sector / Slot) * Slot, Slot).Clear();
                break;
            case 5:
                bytes.AsSpan(random.Next(Sector / Slot) * Slot, Slot).CopyTo(bytes.AsSpan(random.Next(Sector / Slot) * Slot));
                break;
            case 6:
                random.NextBytes(bytes.AsSpan(random.Next(Sector / Slot) * Slot, Slot));
                break;
            case 7:
                FitSet(bytes, random);
                break;
            default:
                holes.Add(new ByteRange(sector, Sector));
                break;
        }

        view.With(sector, bytes);
    }

    private long Pick(Random random)
    {
        ByteRange range = skeleton[random.Next(skeleton.Count)];
        return (range.Offset + random.NextInt64(range.Length)) / Sector * Sector;
    }

    private static byte[] Bytes(PatchedView view, long at, int length)
    {
        var bytes = new byte[length];
        view.TryRead(at, bytes);
        return bytes;
    }

    private static void Extreme(byte[] bytes, Random random)
    {
        int width = 1 << random.Next(1, 4), at = random.Next(Sector / width) * width;
        ulong[] extremes = [0, 1, 2, 0x7F, 0x7FFF_FFFF_FFFF_FFFF, ulong.MaxValue, 0x0FFF_FFF6, 0x8000_0000_0000_0000, 0xFFFF_FFFF_FFFF_FFF8, (ulong)random.Next(20_000)];
        BitConverter.GetBytes(extremes[random.Next(extremes.Length)]).AsSpan(0, width).CopyTo(bytes.AsSpan(at));
    }

    /// <summary>Changes one field of an exFAT set and makes its checksum fit, so that the lie comes through.</summary>
    private static void FitSet(byte[] bytes, Random random)
    {
        int at = Enumerable.Range(0, Sector / Slot).Select(i => i * Slot).Where(i => bytes[i] == 0x85).DefaultIfEmpty(-1).ElementAt(0);
        int length = at < 0 ? 0 : (bytes[at + 1] + 1) * Slot;
        if (at < 0 || at + length > Sector || length < 3 * Slot)
            return;
        int[] fields = [4, Slot + 1, Slot + 3, Slot + 8, Slot + 20, Slot + 21, Slot + 24, Slot + 27, Slot + 31];
        bytes[at + fields[random.Next(fields.Length)]] = (byte)random.Next(256);
        BitConverter.GetBytes(ExFat.EntrySet.Checksum(bytes.AsSpan(at, length))).CopyTo(bytes, at + 2);
    }
}
