using Turnstone.Media;
using Turnstone.Volumes.Apfs;
using Turnstone.Volumes.ExFat;
using Turnstone.Volumes.Fat;

namespace Turnstone.Volumes;

/// <summary>Every file system that is recognised, asked in this order.</summary>
internal static class VolumeFormats
{
    /// <summary>One line a format; those with the most telling signature first.</summary>
    public static IReadOnlyList<IVolumeFormat> All { get; } =
    [
        new ExFatFormat(),
        new FatFormat(),
        new ApfsFormat(),
    ];

    /// <summary>The volumes of a part, by the first format that knows it.</summary>
    public static IReadOnlyList<Volume> Open(PartView part, string name) =>
        All.Select(format => format.Open(part, name)).FirstOrDefault(volumes => volumes.Count > 0) ?? [];
}
