using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>When two live entries of a volume may lie at the same bytes without anything being wrong.</summary>
internal enum SharingRule
{
    /// <summary>Never: a cluster belongs to one file.</summary>
    Never,

    /// <summary>When both are names of one file (hard links), which the file system's number tells.</summary>
    SameNumber,

    /// <summary>Always: the file system lets copies share their blocks, so sharing says nothing.</summary>
    Always,
}

/// <summary>Which rule a file system has.</summary>
internal static class SharingRules
{
    /// <summary>The rule of a volume by its kind; a kind that is not listed here is never accused of anything.</summary>
    /// <remarks>
    /// FAT and exFAT know no links, and their entry number is the first cluster, so two entries with one number are
    /// cross-linked. ext, NTFS and HFS+ have hard links and no block sharing (common practice, no source).
    /// </remarks>
    public static SharingRule Of(string kind) =>
        kind.StartsWith("FAT", StringComparison.OrdinalIgnoreCase) || kind.Equals("exFAT", StringComparison.OrdinalIgnoreCase) ? SharingRule.Never
        : kind is "NTFS" or "ext2" or "ext3" or "ext4" or "HFS+" or "HFSX" ? SharingRule.SameNumber
        : SharingRule.Always;

    /// <summary>What makes two entries one file under hard links: the number, and the stream's name beside it.</summary>
    public static (long Number, string Stream)? Identity(Entry entry) =>
        entry.Number is { } number ? (number, entry.Kind == EntryKind.Stream ? entry.Path.Name : "") : null;
}
