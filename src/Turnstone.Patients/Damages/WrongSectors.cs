using Turnstone.Patients.Chances;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Damages;

/// <summary>The physical sectors that return wrong bytes.</summary>
internal sealed class WrongSectors
{
    private readonly long[] _sectors;
    private readonly Damage.WrongBytes?[] _byHead;

    public WrongSectors(IReadOnlyList<Damage> damages, Layout layout, ulong seed)
    {
        _byHead = [.. Enumerable.Range(0, layout.Surfaces).Select(h => damages.OfType<Damage.WrongBytes>().FirstOrDefault(w => w.Head == h))];
        _sectors = [.. Draw(layout, Chance.For(seed, "wrong"))];
    }

    /// <summary>All of them, in address order.</summary>
    public IReadOnlyList<long> All => _sectors;

    /// <summary>Those in [first, end), in address order.</summary>
    public ReadOnlySpan<long> In(long first, long end)
    {
        int from = At(first);
        return _sectors.AsSpan(from, At(end) - from);
    }

    /// <summary>Whether a head's wrong bytes differ from read to read.</summary>
    public bool Changes(int head) => _byHead[head]!.Changing;

    private int At(long sector)
    {
        int found = Array.BinarySearch(_sectors, sector);
        return found < 0 ? ~found : found;
    }

    private IEnumerable<long> Draw(Layout layout, Chance chance)
    {
        foreach (Segment segment in layout.Segments)
        {
            if (_byHead[segment.Head] is not { Share: > 0 } wrong)
                continue;
            for (long at = segment.First + chance.Geometric(wrong.Share) - 1L; at < Math.Min(segment.End, layout.Capacity); at += chance.Geometric(wrong.Share))
                yield return at;
        }
    }
}
