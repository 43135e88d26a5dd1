using Turnstone.Media;

namespace Turnstone.Findings;

/// <summary>Collects who claims which stretch of the source, and tells what was claimed once and what more than once.</summary>
/// <remarks>
/// Claims that touch are joined as they come in, so memory follows how scattered the claimed space is, not how many
/// files there are: neighbours on the disk cost nothing.
/// </remarks>
internal sealed class ClaimTally
{
    private const int Batch = 65_536;
    private readonly List<ByteRange> _waiting = [];
    private List<ByteRange> _claimed = [], _twice = [];

    /// <summary>Adds a claim.</summary>
    public void Add(ByteRange claim)
    {
        if (claim.IsEmpty)
            return;
        _waiting.Add(claim);
        if (_waiting.Count == Batch)
            Settle();
    }

    /// <summary>Every stretch that was claimed.</summary>
    public RangeSet Claimed()
    {
        Settle();
        return new RangeSet(_claimed);
    }

    /// <summary>Every stretch that was claimed more than once.</summary>
    public RangeSet Twice()
    {
        Settle();
        return new RangeSet(_twice);
    }

    private void Settle()
    {
        if (_waiting.Count == 0)
            return;
        _waiting.Sort(ByOffset);
        var twice = new List<ByteRange>();
        _claimed = [.. RangeSet.Union(_claimed, _waiting, twice.Add)];
        _waiting.Clear();
        twice.Sort(ByOffset);
        _twice = [.. RangeSet.Union(_twice, twice)];
    }

    private static int ByOffset(ByteRange left, ByteRange right) => left.Offset.CompareTo(right.Offset);
}
