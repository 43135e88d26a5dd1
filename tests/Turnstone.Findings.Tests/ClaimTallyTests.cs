using Turnstone.Media;

namespace Turnstone.Findings.Tests;

public class ClaimTallyTests
{
    private static readonly Gen<ByteRange> Claim = Gen.Select(Gen.Long[0, 200], Gen.Long[0, 20], (offset, length) => new ByteRange(offset, length));

    [Fact]
    public void Every_byte_is_counted_as_by_hand() => Claim.Array[0, 40].Sample(claims =>
    {
        var tally = new ClaimTally();
        int[] byHand = new int[256];
        foreach (ByteRange claim in claims)
        {
            tally.Add(claim);
            // Asking in between settles what is there: the answer must not depend on when.
            tally.Claimed();
            for (long i = claim.Offset; i < claim.End; i++)
                byHand[i]++;
        }

        return Covers(tally.Claimed(), i => byHand[i] > 0) && Covers(tally.Twice(), i => byHand[i] > 1);
    });

    [Fact]
    public void Neighbours_are_joined()
    {
        var tally = new ClaimTally();
        for (int i = 0; i < 200_000; i++)
            tally.Add(new ByteRange(i * 10L, 10));
        Assert.Equal([new ByteRange(0, 2_000_000)], tally.Claimed().Ranges);
        Assert.Empty(tally.Twice().Ranges);
    }

    private static bool Covers(RangeSet set, Func<int, bool> expected) =>
        Enumerable.Range(0, 256).All(i => expected(i) == (set.BytesWithin(new ByteRange(i, 1)) == 1))
        && set.Ranges.Zip(set.Ranges.Skip(1)).All(pair => pair.First.End < pair.Second.Offset);
}
