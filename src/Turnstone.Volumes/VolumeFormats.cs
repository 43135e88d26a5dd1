using Turnstone.Media;
using Turnstone.Volumes.Apfs;
using Turnstone.Volumes.ExFat;
using Turnstone.Volumes.Ext;
using Turnstone.Volumes.Fat;
using Turnstone.Volumes.HfsPlus;
using Turnstone.Volumes.Ntfs;
using Turnstone.Volumes.Recognised;

namespace Turnstone.Volumes;

/// <summary>Every file system that is recognised, asked in this order.</summary>
internal static class VolumeFormats
{
    /// <summary>One line a format; those that are only recognised stand last, but for encrypted ones, some of which pose as another.</summary>
    public static IReadOnlyList<IVolumeFormat> All { get; } =
    [
        new RecognisedFormat(EncryptedKinds.Luks, EncryptedKinds.BitLocker, EncryptedKinds.CoreStorage),
        new NtfsFormat(Origin.Table),
        new ExFatFormat(),
        new FatFormat(),
        new ApfsFormat(),
        new HfsPlusFormat(),
        new ExtFormat(),
        new RecognisedFormat(FileSystemKinds.Xfs, FileSystemKinds.Btrfs, FileSystemKinds.Refs, FileSystemKinds.Swap),
        new RecognisedFormat(PooledKinds.Lvm, PooledKinds.SoftwareRaid, PooledKinds.DynamicDisk),

        // Last: copies of boot sectors and of volume headers outlive a new file system.
        new ExFatCopyFormat(),
        new FatCopyFormat(),
        new NtfsFormat(Origin.Copy),
        new HfsPlusCopyFormat(),
    ];

    /// <summary>The volumes of a part, by the first format that knows it.</summary>
    public static IReadOnlyList<Volume> Open(PartView part, string name) =>
        All.Select(format => format.Open(part, name)).FirstOrDefault(volumes => volumes.Count > 0) ?? [];
}
