namespace Turnstone.Volumes.Apfs;

/// <summary>Where a fact was read and how sure it is, together; the default is the best there is.</summary>
internal readonly record struct Trust(Origin Origin, Certainty Certainty)
{
    /// <summary>The weaker of both in each respect: a fact that rests on two others.</summary>
    public static Trust operator &(Trust left, Trust right) =>
        new((Origin)Math.Max((int)left.Origin, (int)right.Origin), (Certainty)Math.Max((int)left.Certainty, (int)right.Certainty));

    /// <summary>The same fact, no surer than that.</summary>
    public Trust AtMost(Certainty certainty) => this & new Trust(Origin.Table, certainty);
}
