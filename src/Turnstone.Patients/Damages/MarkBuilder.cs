using Turnstone.Media;
using Turnstone.Patients.Chances;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Damages;

/// <summary>Turns damage of the surfaces into marks, drawing what a damage leaves open.</summary>
internal static class MarkBuilder
{
    public static IEnumerable<Mark> Marks(IReadOnlyList<Damage> damages, Layout layout, ulong seed) =>
        damages.SelectMany((damage, i) => damage switch
        {
            Damage.Ring ring => ring.Heads.Select(h => new Mark(h, ring.FromTrack, ring.Tracks, 0, 1, 0, ring.SoftShare, ring.Cause)),
            Damage.Arc arc => [new Mark(arc.Head, arc.FromTrack, arc.Tracks, arc.FromAngle, arc.Turn, arc.SlantPerTrack, arc.SoftShare, RefusalCause.Medium)],
            Damage.Particles particles => Scatter(particles, layout.TracksOn(particles.Head), Chance.For(seed, $"particles {i}")),
            _ => [],
        });

    private static IEnumerable<Mark> Scatter(Damage.Particles particles, int tracks, Chance chance)
    {
        for (int i = 0; i < particles.Count; i++)
        {
            int width = Math.Min(tracks, (int)chance.LogBetween(1, particles.TracksMax));
            int from = (int)chance.Below(tracks - width + 1);
            yield return new Mark(particles.Head, from, width, chance.Unit(), chance.LogBetween(0.002, 0.05), 0, particles.SoftShare, RefusalCause.Medium);
        }
    }
}
