using Turnstone.Lab.Documents;
using Turnstone.Lab.Tags;

namespace Turnstone.Lab.Tests.Tags;

public class Marks_of_drives
{
    private static readonly Gen<string[]> Serials = Gen.Char["0189AB"].Array[3, 9].Select(c => new string(c)).Array[1, 30]
        .Select(all => all.Distinct().Where(s => !all.Any(o => o != s && o.EndsWith(s, StringComparison.Ordinal))).ToArray());

    [Fact]
    public void A_mark_is_the_last_three_characters_where_they_are_unique() =>
        Assert.Equal(["7KQ", "4MT"], Marks("WQX4417KQ", "WQX4404MT"));

    [Fact]
    public void Drives_with_the_same_end_get_longer_marks_and_others_do_not() =>
        Assert.Equal(["27KQ", "37KQ", "4MT"], Marks("WQX4427KQ", "WQX4437KQ", "WQX4404MT"));

    [Fact]
    public void No_mark_is_the_end_of_another_drives_number_and_none_could_be_shorter() => Serials.Sample(serials =>
        Tagging.Of("test", serials).Item().Tags.All(tag =>
            serials.Count(s => s.EndsWith(tag.Mark, StringComparison.Ordinal)) == 1
            && (tag.Mark.Length == Tagging.Shortest || serials.Count(s => s.EndsWith(tag.Mark[1..], StringComparison.Ordinal)) > 1)));

    [Fact]
    public void Parts_carry_the_mark_and_a_word()
    {
        Tag tag = Tagging.Of("test", ["WQX4417KQ"]).Item().Tags[0];
        Assert.Equal(["7KQ-HEADS", "7KQ-RAMP", "7KQ-BOARD", "7KQ-LID", "7KQ-PLATTERS"], Enum.GetValues<Part>().Select(tag.For));
        Assert.Equal("WQX4417KQ/HEADS", tag.Code(Part.Heads));
    }

    [Fact]
    public void Two_marks_that_look_alike_warn_of_each_other()
    {
        IReadOnlyList<Tag> tags = Tagging.Of("test", ["AAAA8O1", "CCCCBQI"]).Item().Tags;
        Assert.Contains("looks like BQI, which is also here", tags[0].Warnings);
        Assert.Contains("looks like 8O1, which is also here", tags[1].Warnings);
        Assert.Contains("easily mistaken: 8 (B)", tags[0].Warnings);
    }

    [Fact]
    public void A_mark_of_clear_characters_warns_of_nothing() => Assert.Empty(Tagging.Of("test", ["XX4K7"]).Item().Tags[0].Warnings);

    [Fact]
    public void A_serial_number_that_stands_there_twice_is_refused() =>
        Assert.Contains("'WQX4417KQ' stands here twice, as number 1 and 3", Tagging.Of("test", ["WQX4417KQ", "B4MT", " wqx4417kq"]).Fault().What);

    [Theory]
    [InlineData("WQX44\u041217KQ", "U+0412 at character 6")]
    [InlineData("WQX 417KQ", "U+0020 at character 4")]
    [InlineData("WQX\u001b[2J", "U+001B at character 4")]
    [InlineData("7K", "at least 3")]
    [InlineData("", "at least 3")]
    public void A_serial_number_that_is_none_is_explained(string serial, string says)
    {
        Fault fault = Tagging.Of("test", ["AB4417KQ", serial]).Fault();
        Assert.Equal("drive 2", fault.Where);
        Assert.Contains(says, fault.What);
        Assert.DoesNotContain(fault.What, char.IsControl);
    }

    [Fact]
    public void A_serial_number_that_is_wholly_the_end_of_another_is_refused() =>
        Assert.Contains("use the lab's own number", Tagging.Of("test", ["17KQ", "AB4417KQ"]).Fault().What);

    [Theory]
    // 23 people: 0.507297. Feller, An Introduction to Probability Theory and Its Applications I, II.3 (from memory).
    [InlineData(365, 23, 0.507297)]
    [InlineData(365, 22, 0.475695)]
    // Exact products computed by a second program.
    [InlineData(1000, 10, 0.044139)]
    [InlineData(10_000, 50, 0.115473)]
    [InlineData(4096, 20, 0.045398)]
    [InlineData(46_656, 50, 0.025923)]
    [InlineData(46_656, 0, 0)]
    [InlineData(3, 4, 1)]
    public void The_chance_of_a_clash_is_the_birthday_problems(double labels, int drives, double expected) =>
        Assert.Equal(expected, Tagging.AnyClash(labels, drives).Value, 5e-7);

    private static IEnumerable<string> Marks(params string[] serials) => Tagging.Of("test", serials).Item().Tags.Select(t => t.Mark);
}
