using Turnstone.Media;
using Turnstone.Patients.Chances;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients.Damages;

/// <summary>The sectors of a head with little margin that need more than one try, or never answer.</summary>
/// <remarks>
/// A sector's margin is normal with the head's mean and deviation 1; a try succeeds when margin + noise is above 0, the
/// noise normal with deviation 0.5 (only the part of the noise that does not repeat averages out: Patapoutian and Vea, IEEE Trans. Magn. 1997,
/// abstract; the figure is an assumption). Sectors are drawn per track from the worst up, as a Poisson process over the
/// normal's tail, so that a falling margin only adds sectors to those that were in trouble before.
/// </remarks>
internal sealed class FaintSpots(ulong seed)
{
    private const double Noise = 0.5;

    /// <summary>Below this margin a try succeeds with less than 4 chances in 100,000: such a sector is hard.</summary>
    private const double HardBelow = -4 * Noise;

    /// <summary>Above this margin 99.4 of 100 tries succeed: such a sector is good.</summary>
    private const double GoodAbove = 2.5 * Noise;

    private readonly ulong _key = Chance.Key(seed, "faint");

    /// <summary>Adds the troubled sectors of a track to the list.</summary>
    /// <param name="segment">Where the track lies.</param>
    /// <param name="track">Which track of the surface.</param>
    /// <param name="margin">Mean margin of the head now.</param>
    /// <param name="hardOnly">Whether to stop where a sector could answer.</param>
    /// <param name="into">Where they go, worst first.</param>
    public void Add(in Segment segment, int track, double margin, bool hardOnly, List<Trouble> into)
    {
        double last = Normal.Below((hardOnly ? HardBelow : GoodAbove) - margin);
        ulong key = Chance.Mix(_key ^ Chance.Mix(((ulong)segment.Head << 40) + (ulong)track));
        double share = 0;
        for (int i = 0; ; i += 2)
        {
            share += -Math.Log(1 - Chance.Unit(key, i)) / segment.SectorsPerTrack;
            if (!(share < last))
                return;
            double own = margin + Normal.Quantile(share);
            int sector = (int)(Chance.Unit(key, i + 1) * segment.SectorsPerTrack);
            into.Add(own < HardBelow
                ? new Trouble(sector, TroubleKind.Hard, RefusalCause.Medium)
                : new Trouble(sector, TroubleKind.Faint, RefusalCause.Medium, Normal.Below(own / Noise)));
        }
    }
}
