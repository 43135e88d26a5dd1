using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Scenarios;

/// <summary>A kind of patient, of which each seed makes another.</summary>
/// <param name="Name">How it is called on a command line.</param>
/// <param name="Description">What is wrong with such a patient.</param>
/// <param name="Make">The patient of a seed, at a chosen size in 10^9 bytes.</param>
public sealed record Family(string Name, string Description, Func<ulong, double, Scenario> Make);

/// <summary>The kinds of patients that reading plans are measured on.</summary>
/// <remarks>
/// Heads, bands, order and direction change with the seed, so that no plan can learn one layout by heart. A drive is of
/// the 2.5-inch preset's kind with fewer tracks. All figures of damage are assumptions within the ranges that the damage's own page gives.
/// </remarks>
public static class Families
{
    /// <summary>All of them, mildest first.</summary>
    public static IReadOnlyList<Family> All { get; } =
    [
        Of("few-latent", "a few single bad sectors in clusters", _ => [new Damage.Latent(4)]),
        Of("many-latent", "hundreds of clusters of bad sectors", d => [new Damage.Latent(200 + (int)d.Chance.Below(400))]),
        Of("slow-media", "all surfaces slow, with some errors", d => [new Damage.SlowMedia(d.Chance.Between(3.2, 3.6))]),
        Of("dead-head", "one head reads nothing", d => [new Damage.DeadHead(d.Head())]),
        Of("weak-head", "one weak head that fails after some work", d => [d.Weak(d.Head(), 0.3, 1.2)]),
        Of("two-weak-heads", "two weak heads", d => d.Two((a, b) => [d.Weak(a, 0.2, 0.9), d.Weak(b, 0.4, 1.5)])),
        Of("arc-scratch", "an arc over 5 % of one surface", d => [d.Arc(d.Head())]),
        Of("ring-scratch", "a closed ring on one surface", d => [d.Ring(d.Head())]),
        Of("hangs", "sectors at which the drive hangs until its power is cut", d => [new Damage.Hangs(6 + (int)d.Chance.Below(20), HangCure.Power), new Damage.Latent(10)]),
        Of("wrong-bytes", "one head that returns some wrong bytes", d => [new Damage.WrongBytes(d.Head(), 2e-5, d.Chance.Happens(0.5)), new Damage.Latent(4)]),
        Of("stubborn", "sectors that answer only late or only backwards, and particles", d => [new Damage.Stubborn(150, 3, OnlyBackwards: false), new Damage.Stubborn(50, 1, OnlyBackwards: true), new Damage.Particles(d.Head(), 40, 20)]),
        new("shingled", "a shingled drive with unmapped ranges and bad sectors", (seed, gigabytes) => Shingled(new Draft("shingled", seed, gigabytes))),
        Of("dead-and-scratched", "a dead head, and an arc on another surface", d => d.Two((a, b) => [new Damage.DeadHead(a), d.Arc(b)])),
        Of("impact", "a ring in the same place on all surfaces, and a head that it made weak", d => [d.Ring([.. Enumerable.Range(0, d.Heads)]), d.Weak(d.Head(), 0.3, 1)]),
    ];

    private static Family Of(string name, string description, Func<Draft, IReadOnlyList<Damage>> damage) =>
        new(name, description, (seed, gigabytes) => new Draft(name, seed, gigabytes).Finish(damage));

    private static Scenario Shingled(Draft draft)
    {
        Scenario plain = draft.Finish(_ => [new Damage.Latent(60)]);
        var shingled = new ShingledSpec(draft.Chance.Between(15, 40), draft.Chance.Between(0.1, 0.4), draft.Chance.Happens(0.5), 0.05);
        return plain with { Drive = plain.Drive with { Shingled = shingled } };
    }

    /// <summary>A patient in the making.</summary>
    private sealed class Draft
    {
        private const int Outer = 432, Inner = 216, Zones = 16;
        private readonly string _family;
        private readonly ulong _seed;
        private readonly int _tracks;

        public Draft(string family, ulong seed, double gigabytes)
        {
            (_family, _seed) = (family, Chance.Key(seed, family));
            Chance = Chance.For(_seed, "family");
            Heads = 2 * (1 + (int)Chance.Below(5));
            _tracks = Math.Max(Zones * 10, (int)(gigabytes * 1e9 / 4096 / ((Outer + Inner) / 2.0) / Heads));
        }

        public Chance Chance { get; }

        public int Heads { get; }

        public int Head() => (int)Chance.Below(Heads);

        public IReadOnlyList<Damage> Two(Func<int, int, IReadOnlyList<Damage>> damage)
        {
            int first = Head();
            return damage(first, (first + 1 + (int)Chance.Below(Heads - 1)) % Heads);
        }

        /// <summary>A weak head that lives for a share of the time that its surface takes.</summary>
        public Damage.WeakHead Weak(int head, double leastShare, double mostShare)
        {
            double surfaceSeconds = _tracks * Presets.Slow.TurnSeconds * 1.16;
            return new Damage.WeakHead(head, Chance.Between(3.1, 3.8))
            {
                Hazard = HazardSpec.Sick with { PerHour = 0 },
                // Retries and scratched ground shorten this, plain reading does not.
                DiesAfterSeconds = surfaceSeconds * Chance.Between(leastShare, mostShare) * 1.5,
            };
        }

        public Damage.Arc Arc(int head)
        {
            int tracks = (int)(_tracks * 0.05);
            return new Damage.Arc(head, (int)Chance.Below((long)(_tracks * 0.9) - tracks), tracks, Chance.Unit(), Chance.Between(0.05, 0.5), Chance.Between(-0.5, 0.5) / tracks);
        }

        public Damage.Ring Ring(params IReadOnlyList<int> heads)
        {
            int tracks = Math.Max(1, Math.Min(_tracks / 10, (int)Chance.LogBetween(10, 3000)));
            return new Damage.Ring(heads, (int)Chance.Below((long)(_tracks * 0.9) - tracks), tracks);
        }

        public Scenario Finish(Func<Draft, IReadOnlyList<Damage>> damage)
        {
            int band = Math.Min(_tracks / Zones, (int)Chance.LogBetween(20, 250));
            var drive = new DriveSpec
            {
                Surfaces = Heads,
                Zones = Presets.EvenZones(_tracks, Outer, Inner, Zones, band),
                Order = Chance.Happens(0.5) ? BandOrder.Cyclic : BandOrder.Reversing,
                Direction = Chance.Happens(0.5) ? SweepDirection.Inward : SweepDirection.Alternating,
                DensitySpread = Chance.Happens(0.7) ? 0.03 : 0,
                TrackSkew = Chance.Between(0.1, 0.2),
                HeadSkew = Chance.Between(0.2, 0.35),
            };
            return new Scenario { Name = $"{_family} {_seed:x}", Seed = _seed, Drive = drive, Timing = Presets.Slow, Damage = damage(this) };
        }
    }
}
