using Turnstone.Media;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Scenarios;

/// <summary>Reads one thing that is wrong with a drive, against the drive that it is wrong with.</summary>
internal sealed class DamageReader(Layout layout, long capacitySectors)
{
    private const int MostSectors = 1_000_000;

    private static readonly string[] Kinds =
        ["latent", "run", "ring", "arc", "particles", "deadHead", "weakHead", "slowMedia", "hangs", "stubborn", "wrongBytes"];

    public IReadOnlyList<Damage> ReadAll(IReadOnlyList<JsonCursor> list)
    {
        var all = new List<Damage>();
        foreach (JsonCursor c in list)
        {
            Damage damage = Read(c);
            c.End();
            if (HeadState(damage) is { } head && all.Any(other => HeadState(other) == head))
                throw c.Wrong("head", $"{head}, of which another entry already says how it is");
            all.Add(damage);
        }

        return all;
    }

    // A head is dead, weak, or neither: two entries would contradict each other.
    private static int? HeadState(Damage damage) => damage switch
    {
        Damage.DeadHead dead => dead.Head,
        Damage.WeakHead weak => weak.Head,
        _ => null,
    };

    private Damage Read(JsonCursor c) => c.Text("kind") switch
    {
        "latent" => new Damage.Latent(c.Has("clusters") ? c.Int("clusters", 0, 100_000) : null) { SoftShare = Share(c, "softShare", 0.3) },
        "run" => Run(c),
        "ring" => Ring(c),
        "arc" => Arc(c),
        "particles" => new Damage.Particles(Head(c), c.Int("count", 1, 100_000), c.Int("tracksMax", 1, 5000, 20)) { SoftShare = Share(c, "softShare", 0.1) },
        "deadHead" => new Damage.DeadHead(Head(c)),
        "weakHead" => new Damage.WeakHead(Head(c), Margin(c)) { Hazard = Hazard(c, "hazard", HazardSpec.None), DiesAfterSeconds = c.NumberOrNone("diesAfterSeconds", 0, 1e9) },
        "slowMedia" => new Damage.SlowMedia(Margin(c)),
        "hangs" => new Damage.Hangs(c.Int("count", 1, MostSectors), c.Word("cure", HangCure.Power)),
        "stubborn" => new Damage.Stubborn(c.Int("count", 1, MostSectors), c.Int("answersOnAsk", 1, 1000, 1), c.Flag("onlyBackwards", otherwise: false)),
        "wrongBytes" => new Damage.WrongBytes(Head(c), c.Number("share", 1e-9, 0.01), c.Flag("changing", otherwise: false)),
        _ => throw c.Wrong("kind", $"no such kind of damage; one of {string.Join(", ", Kinds)} belongs here"),
    };

    public static HazardSpec Hazard(JsonCursor c, string name, HazardSpec otherwise)
    {
        if (c.IsText(name))
        {
            return c.Text(name) switch
            {
                "none" => HazardSpec.None,
                "gentle" => HazardSpec.Gentle,
                "sick" => HazardSpec.Sick,
                "crashing" => HazardSpec.Crashing,
                _ => throw c.Wrong(name, "one of none, gentle, sick, crashing, or an object, belongs here"),
            };
        }

        if (c.Object(name) is not { } own)
            return otherwise;
        var hazard = new HazardSpec(own.Number("perHour", 0, 1e6), own.Number("growth", 0, 100, 0.5), own.Number("stressFactor", 0, 1e6, 0));
        own.End();
        return hazard;
    }

    private static double Share(JsonCursor c, string name, double otherwise) => c.Number(name, 0, 1, otherwise);

    private static double Margin(JsonCursor c) => c.Number("margin", 1, 8);

    private static RefusalCause Cause(JsonCursor c)
    {
        RefusalCause cause = c.Word("cause", RefusalCause.Medium);
        return cause is RefusalCause.Silence or RefusalCause.Gone or RefusalCause.PastEnd
            ? throw c.Wrong("cause", "a damaged sector does not answer so; use kind hangs for silence")
            : cause;
    }

    private int Head(JsonCursor c) => CheckHead(c, "head", c.Int("head", 0, 31));

    private int CheckHead(JsonCursor c, string name, int head) =>
        head < layout.Surfaces ? head : throw c.Wrong(name, $"{head}, but this drive has heads 0 to {layout.Surfaces - 1}");

    private Damage.Run Run(JsonCursor c)
    {
        long start = c.Whole("start", 0, capacitySectors - 1);
        return new Damage.Run(start, c.Whole("sectors", 1, capacitySectors - start)) { SoftShare = Share(c, "softShare", 0), Cause = Cause(c) };
    }

    private Damage.Ring Ring(JsonCursor c)
    {
        IReadOnlyList<double> heads = c.Numbers("heads", 0, 31) ?? throw c.Wrong("heads", "is missing");
        int[] checkedHeads = [.. heads.Select((h, i) => double.IsInteger(h) ? CheckHead(c, $"heads[{i}]", (int)h) : throw c.Wrong($"heads[{i}]", $"{h}, where a whole number belongs"))];
        if (checkedHeads.Length == 0 || checkedHeads.Distinct().Count() != checkedHeads.Length)
            throw c.Wrong("heads", "must name at least one head and each only once");
        (int from, int tracks) = Tracks(c, checkedHeads.Min(layout.TracksOn));
        return new Damage.Ring(checkedHeads, from, tracks) { SoftShare = Share(c, "softShare", 0.02), Cause = Cause(c) };
    }

    private Damage.Arc Arc(JsonCursor c)
    {
        int head = Head(c);
        (int from, int tracks) = Tracks(c, layout.TracksOn(head));
        return new Damage.Arc(head, from, tracks, c.Number("fromAngle", 0, 1, 0), c.Number("turn", 1e-6, 1), c.Number("slantPerTrack", -1, 1, 0)) { SoftShare = Share(c, "softShare", 0.05) };
    }

    private static (int From, int Tracks) Tracks(JsonCursor c, int there)
    {
        int from = c.Int("fromTrack", 0, there - 1);
        return (from, c.Int("tracks", 1, there - from));
    }
}
