using Turnstone.Lab.Protocols;
using Turnstone.Lab.Triage;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Protocols;

public class Signing_steps
{
    private static readonly Plan Plan = Plans_for_drives.Made(Failure.StuckHeads, Plans_for_drives.Portable);
    private static readonly Photo Before = new("before.jpg", Sha256Digest.Of("before")), After = new("after.jpg", Sha256Digest.Of("after"));

    [Fact]
    public void Nothing_after_an_unsigned_hold_point_may_be_signed()
    {
        var signed = new List<SignedStep>();
        Assert.Contains("hold point 'donor heads proven' is not signed", Why(signed, "lid off"));
        SignUpTo(signed, "surface seen clean");
        Assert.Contains("hold point 'surface seen clean' is not signed", Why(signed, "lid on"));
        Assert.Contains("hold point 'surface seen clean' is not signed", Why(signed, "first power"));
    }

    [Fact]
    public void The_surface_hold_needs_two_different_photos()
    {
        var signed = new List<SignedStep>();
        SignUpTo(signed, "surface seen clean");
        Assert.Contains("two different photos", Why(signed, "surface seen clean"));
        Assert.Contains("two different photos", Why(signed, "surface seen clean", Before, Before));
        Assert.Null(Why(signed, "surface seen clean", Before, After));
    }

    [Fact]
    public void Steps_are_signed_in_order_and_once()
    {
        var signed = new List<SignedStep>();
        SignUpTo(signed, "air checked");
        Assert.Contains("was signed by", Why(signed, "donor heads proven"));
        Assert.Contains("hold point 'air checked'", Why(signed, "look before touching"));
        Assert.Contains("is no step of this plan", Why(signed, "polish"));
    }

    [Fact]
    public void A_signature_needs_a_person() =>
        Assert.Contains("name of a person", Signatures.Sign(Plan, [], Signature("donor heads proven") with { Who = " " }).Match(_ => "", why => why));

    [Fact]
    public void A_signature_for_a_plan_that_was_changed_does_not_count()
    {
        Plan edited = Plan with { Steps = [.. Plan.Steps.Take(2).Select(s => s with { Do = s.Do + "!" }), .. Plan.Steps.Skip(2)] };
        var signed = new List<SignedStep>();
        SignUpTo(signed, "air checked");
        Assert.All(Signatures.Of(edited, signed), s => Assert.Null(s.Signed));
        Assert.Contains("another plan", Signatures.Sign(edited, [], Signature("donor heads proven")).Match(_ => "", why => why));
    }

    [Fact]
    public void A_whole_plan_can_be_signed_to_its_end()
    {
        var signed = new List<SignedStep>();
        SignUpTo(signed, null);
        Assert.All(Signatures.Of(Plan, signed), s => Assert.NotNull(s.Signed));
    }

    private static void SignUpTo(List<SignedStep> signed, string? stop)
    {
        foreach (ProtocolStep step in Plan.Steps.TakeWhile(s => s.Name != stop))
            signed.Add(Signatures.Sign(Plan, signed, Signature(step.Name, Before, After)).Match(done => done, why => throw new InvalidOperationException(why)));
    }

    private static string? Why(List<SignedStep> signed, string step, params Photo[] photos) =>
        Signatures.Sign(Plan, signed, Signature(step, photos)).Match(_ => null, why => (string?)why);

    private static SignedStep Signature(string step, params Photo[] photos) => new("2026-014", step, "R. Quell", DateTimeOffset.UnixEpoch, Plan.Digest, photos);
}
