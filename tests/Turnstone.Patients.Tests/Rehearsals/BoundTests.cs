using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests.Rehearsals;

public sealed class BoundTests
{
    public static TheoryData<string> FamilyNames => [.. Families.All.Select(f => f.Name)];

    [Theory]
    [MemberData(nameof(FamilyNames))]
    public void The_clairvoyant_is_never_beaten_by_any_strategy_in_any_value(string family)
    {
        for (ulong seed = 100; seed < 108; seed++)
        {
            Scenario scenario = Families.All.Single(f => f.Name == family).Make(seed, 4);
            ClairvoyantBound bound = Rehearsal.Bound(scenario);
            foreach (IStrategy strategy in Strategies.References)
                Assert.True(Beats(bound, Rehearsal.Run(scenario, strategy, TimeSpan.FromMinutes(4)), 1) is not { } beaten, $"{family}, seed {seed}, {strategy.Name}: {Beats(bound, Rehearsal.Run(scenario, strategy, TimeSpan.FromMinutes(4)), 1)}");
        }
    }

    [Fact]
    public void A_bound_that_is_too_low_is_noticed()
    {
        Scenario scenario = Families.All[0].Make(1, 4);
        RehearsalResult result = Rehearsal.Run(scenario, Strategies.References.Single(s => s.Name == "clairvoyant"), TimeSpan.FromMinutes(4));
        Assert.NotNull(Beats(Rehearsal.Bound(scenario), result, 0.97));
    }

    [Fact]
    public void A_healthy_drive_read_front_to_back_comes_near_the_bound()
    {
        Scenario scenario = Families.All[0].Make(1, 4) with { Damage = [] };
        ClairvoyantBound bound = Rehearsal.Bound(scenario);
        RehearsalResult result = Rehearsal.Run(scenario, Strategies.References[0], TimeSpan.FromMinutes(4));
        Assert.Equal(bound.Most(ValueKind.Bytes), result.End.Bytes);
        Assert.InRange(result.Area(ValueKind.Bytes, bound.TimeTo(ValueKind.Bytes, 1)) / bound.Area(ValueKind.Bytes, bound.TimeTo(ValueKind.Bytes, 1)), 0.85, 1);
    }

    private static string? Beats(ClairvoyantBound bound, RehearsalResult result, double factor)
    {
        foreach (ValueKind kind in Enum.GetValues<ValueKind>())
        {
            foreach (CurvePoint point in result.Points)
            {
                double most = bound.At(kind, point.Time) * factor, got = RehearsalResult.Of(point, kind);
                if (got > (most * (1 + 1e-9)) + 1)
                    return $"{kind} {got} above {most} after {point.Time}";
            }
        }

        return null;
    }
}
