using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Who owns which bytes of a volume, gathered before any file of it is graded.</summary>
/// <remarks>
/// Looks through the entries once, and a second time where a file system with hard links shows bytes with several
/// owners. Memory follows how scattered the files lie (see <see cref="ClaimTally"/>).
/// </remarks>
internal sealed class Claims
{
    /// <summary>When entries may share bytes.</summary>
    public required SharingRule Rule { get; init; }

    /// <summary>What live files own.</summary>
    public required RangeSet Live { get; init; }

    /// <summary>What more than one live file claims, against the file system's rules.</summary>
    public required RangeSet Crossed { get; init; }

    /// <summary>What more than one deleted file claims, against the same rules.</summary>
    public required RangeSet DeletedCrossed { get; init; }

    /// <summary>What the volume says is in use, by whomever.</summary>
    public required RangeSet InUse { get; init; }

    /// <summary>Gathers the claims of a volume.</summary>
    public static Claims Of(Volume volume)
    {
        ClaimTally live = new(), deleted = new(), used = new();
        foreach (Entry entry in volume.Entries().Where(MakesClaims))
            Add(entry, entry.Deleted ? deleted : live);
        foreach (UsageRun run in volume.Usage().Where(run => run.Usage == Usage.Used))
            used.Add(run.Place);
        SharingRule rule = SharingRules.Of(volume.Facts.Kind);
        return new Claims
        {
            Rule = rule,
            Live = live.Claimed(),
            Crossed = Confirm(volume, rule, live.Twice(), deleted: false),
            DeletedCrossed = Confirm(volume, rule, deleted.Twice(), deleted: true),
            InUse = used.Claimed(),
        };
    }

    /// <summary>Where an entry's bytes lie on the source, as far as that is known.</summary>
    public static IEnumerable<ByteRange> Places(Entry entry) =>
        (entry.Content?.Extents ?? []).Where(extent => extent.Kind == ExtentKind.Stored).Select(extent => extent.Place);

    // A guess owns nothing: it must not take bytes away from anyone.
    private static bool MakesClaims(Entry entry) => entry.Certainty != Certainty.Guessed;

    private static void Add(Entry entry, ClaimTally tally)
    {
        foreach (ByteRange place in Places(entry))
            tally.Add(place);
    }

    private static RangeSet Confirm(Volume volume, SharingRule rule, RangeSet twice, bool deleted) => rule switch
    {
        SharingRule.Never => twice,
        SharingRule.SameNumber => twice.Ranges.Count == 0 ? twice : ByDifferentFiles(volume, twice, deleted),
        SharingRule.Always => RangeSet.Empty,
    };

    private static RangeSet ByDifferentFiles(Volume volume, RangeSet twice, bool deleted)
    {
        var tally = new ClaimTally();
        var seen = new HashSet<(long, string)>();
        foreach (Entry entry in volume.Entries().Where(entry => entry.Deleted == deleted && MakesClaims(entry)))
        {
            List<ByteRange> suspect = [.. Places(entry).SelectMany(twice.Within)];
            if (suspect.Count > 0 && (SharingRules.Identity(entry) is not { } identity || seen.Add(identity)))
                suspect.ForEach(tally.Add);
        }

        return tally.Twice();
    }
}
