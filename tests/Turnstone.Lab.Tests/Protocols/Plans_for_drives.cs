using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Protocols;

/// <summary>Check values: the facts of the trade (common practice, no source).</summary>
public class Plans_for_drives
{
    internal static readonly DriveBuild Portable = new() { Parking = Parking.Ramp, Heads = 10, Platters = 5, UsbBoard = true };

    public static TheoryData<Failure> Treated => [.. Enum.GetValues<Failure>().Where(f => f != Failure.SomethingElse)];

    [Fact]
    public void With_stuck_heads_the_ramp_comes_out_before_any_head_is_released_when_the_lower_heads_are_unknown()
    {
        List<string> steps = Steps(Failure.StuckHeads, Portable);
        Assert.InRange(steps.IndexOf("ramp out first"), 0, steps.IndexOf("release the heads") - 1);
    }

    [Fact]
    public void A_landing_zone_drive_has_no_ramp_to_take_out() =>
        Assert.DoesNotContain(Steps(Failure.StuckHeads, Portable with { Parking = Parking.LandingZone }), s => s.Contains("ramp"));

    [Fact]
    public void Parts_are_tagged_as_they_come_off() =>
        Assert.Equal(["board", "lid", "ramp", "heads"], Made(Failure.StuckHeads, Portable).Parts);

    [Fact]
    public void The_surface_is_seen_clean_before_the_lid_is_closed_and_before_power()
    {
        List<string> steps = Steps(Failure.StuckHeads, Portable);
        Assert.InRange(steps.IndexOf("surface seen clean"), steps.IndexOf("donor heads in"), steps.IndexOf("lid on") - 1);
        Assert.True(steps.IndexOf("lid on") < steps.IndexOf("first power"));
    }

    [Theory]
    [MemberData(nameof(Treated))]
    public void Every_shipped_protocol_keeps_the_rules_for_every_way_a_drive_may_be_built(Failure failure)
    {
        foreach (DriveBuild build in from parking in Enum.GetValues<Parking>()
                                     from lower in Enum.GetValues<LowerHeads>()
                                     from heads in new[] { 1, 2, 10 }
                                     from closed in new[] { false, true }
                                     from usb in new[] { false, true }
                                     select new DriveBuild { Parking = parking, LowerHeads = lower, Heads = heads, Platters = (heads + 1) / 2, Sealed = closed, UsbBoard = usb })
            Made(failure, build);
    }

    [Fact]
    public void Every_shipped_protocol_names_its_source_and_the_usual_cautions()
    {
        foreach ((_, Protocol protocol) in Protocol.ReadAll(TableShelf.Shipped).Item())
        {
            Assert.Contains("Common practice", protocol.Source);
            Assert.Contains(protocol.Cautions, c => c.Contains("licensed practice"));
        }
    }

    [Theory]
    [InlineData("\"marks\": [\"surface seen clean\"],", "", "before a hold point says that the surface was seen clean")]
    [InlineData("\"hold\": \"The top surface was seen clean, by the photo after.\",", "", "before a hold point says that the surface was seen clean")]
    [InlineData("\"hold\": \"The donor's heads were proven on the donor.\",", "", "before a hold point says that they were proven")]
    [InlineData("\"marks\": [\"removes ramp\"],", "", "the ramp comes out first")]
    [InlineData("\"marks\": [\"fits heads\"]", "\"marks\": []", "released heads never return to a client's drive")]
    [InlineData("\"marks\": [\"saved twice\"]", "\"marks\": []", "saved twice")]
    public void An_edited_protocol_that_breaks_a_rule_is_refused_with_its_line(string from, string to, string says)
    {
        Fault fault = Plan.Make(Answered.Edited("protocol-stuck-heads.json", from, to), Failure.StuckHeads, Portable).Fault();
        Assert.Equal("protocol-stuck-heads.json", fault.File);
        Assert.True(fault.Line > 1, fault.ToString());
        Assert.Contains(says, fault.What);
    }

    [Fact]
    public void A_failure_without_protocol_is_said_so() =>
        Assert.Contains("no protocol is for 'something else'", Plan.Make(TableShelf.Shipped, Failure.SomethingElse, Portable).Fault().What);

    [Theory]
    [InlineData("{ \"parking\": \"ramp\", \"heads\": 11, \"platters\": 5 }", "11 heads on 5 platters: a platter has at most two")]
    [InlineData("{ \"parking\": \"ramp\", \"heads\": -1, \"platters\": 5 }", "-1: a drive has 1 to 24 heads")]
    [InlineData("{ \"parking\": \"shelf\", \"heads\": 1, \"platters\": 5 }", "'shelf' is none of: ramp, landing zone")]
    [InlineData("{ \"parking\": \"ramp\", \"heads\": 1 }", "missing: platters")]
    public void An_impossible_drive_is_explained(string text, string says) => Assert.Contains(says, DriveBuild.Read("drive.json", text).Fault().What);

    [Fact]
    public void Ten_heads_fit_on_five_platters() => Assert.Equal(10, DriveBuild.Read("drive.json", "{ \"parking\": \"ramp\", \"heads\": 10, \"platters\": 5 }").Item().Heads);

    internal static Plan Made(Failure failure, DriveBuild build) => Plan.Make(TableShelf.Shipped, failure, build).Item();

    private static List<string> Steps(Failure failure, DriveBuild build) => [.. Made(failure, build).Steps.Select(s => s.Name)];
}
