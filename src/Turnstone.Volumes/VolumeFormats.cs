using Turnstone.Media;
using Turnstone.Volumes.ExFat;
using Turnstone.Volumes.Fat;
using Turnstone.Volumes.HfsPlus;

namespace Turnstone.Volumes;

/// <summary>Every file system that is recognised, asked in this order.</summary>
internal static class VolumeFormats
{
    /// <summary>One line a format; those with the most telling signature first.</summary>
    public static IReadOnlyList<IVolumeFormat> All { get; } =
    [
        new ExFatFormat(),
        new FatFormat(),
        new HfsPlusFormat(),
    ];

    /// <summary>The volumes of a part, by the first format that knows its main structure, else by the first that knows a copy of it.</summary>
    /// <remarks>A copy may be what a former file system left behind where the present one never writes: FAT32's in the first block of HFS+.</remarks>
    public static IReadOnlyList<Volume> Open(PartView part, string name) =>
        All.Select(format => format.Open(part, name)).Where(volumes => volumes.Count > 0).OrderBy(volumes => volumes[0].Facts.Origin).FirstOrDefault() ?? [];
}
