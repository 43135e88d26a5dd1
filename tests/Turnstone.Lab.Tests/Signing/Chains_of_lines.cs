using Turnstone.Bench;
using Turnstone.Lab.Signing;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Signing;

public class Chains_of_lines
{
    private static readonly string[] Events =
        ["{\"n\":0,\"e\":\"intake\"}", "{\"n\":1,\"e\":\"open\"}", "{\"n\":2,\"e\":\"image\"}", "{\"n\":3,\"e\":\"verify\"}", "{\"n\":4,\"e\":\"deliver\"}"];

    [Fact]
    public void The_worked_example_gives_its_digests()
    {
        // Computed by a second program; the first line again below with coreutils.
        Sha256Digest first = Chain.After(Sha256Digest.Zero, Events[0]);
        Assert.Equal("e5d99af2cd0fab34729d2d1aaf07596a0bc3bfeb01085f59d94c8ec18014ff99", first.Hex);
        Assert.Equal("1566e776c1c877f98229acc361ce9ad43bd9f1064bc5fcd33269d99f8b0c7ded", Events.Aggregate(Sha256Digest.Zero, Chain.After).Hex);
    }

    [Fact]
    public void Ordinary_tools_reach_the_same_digest()
    {
        string said = Tool.Run("bash", "-c", $"(head -c 32 /dev/zero; printf %s '{Events[0]}') | sha256sum");
        Assert.StartsWith(Chain.After(Sha256Digest.Zero, Events[0]).Hex, said);
    }

    [Fact]
    public void An_untouched_chain_is_whole() =>
        Assert.Equal(5, Chain.Check(Lines()).Match(whole => whole.Lines, broken => throw new InvalidOperationException(broken.What)));

    [Fact]
    public void Any_changed_byte_before_the_last_line_is_found() => Gen.Select(Gen.Int[0, 3], Gen.Int[0, 1000], Gen.Char['!', '~']).Sample((line, at, to) =>
    {
        string[] lines = Lines();
        at %= lines[line].Length;
        if (lines[line][at] == to)
            return true;
        lines[line] = lines[line][..at] + to + lines[line][(at + 1)..];
        return Chain.Check(lines) is ChainCheck.Broken broken && broken.Line - 1 - line is 0 or 1;
    });

    [Fact]
    public void A_line_taken_out_doubled_or_moved_is_found()
    {
        string[] l = Lines();
        Assert.IsType<ChainCheck.Broken>(Chain.Check([l[0], l[2], l[3], l[4]]));
        Assert.IsType<ChainCheck.Broken>(Chain.Check([l[0], l[1], l[1], l[2], l[3], l[4]]));
        Assert.IsType<ChainCheck.Broken>(Chain.Check([l[0], l[2], l[1], l[3], l[4]]));
    }

    [Fact]
    public void An_event_with_a_line_break_is_refused() => Assert.Throws<ArgumentException>(() => Chain.Line(Sha256Digest.Zero, "{\n}"));

    private static string[] Lines()
    {
        Sha256Digest head = Sha256Digest.Zero;
        return [.. Events.Select(e =>
        {
            string line = Chain.Line(head, e);
            head = Chain.After(head, e);
            return line;
        })];
    }
}
