namespace Turnstone.Handover;

/// <summary>What the receiving system can hold.</summary>
/// <param name="NameUnits">Longest name in UTF-16 units: 255 on NTFS, exFAT, FAT and HFS+.</param>
/// <param name="NameBytes">Longest name in UTF-8 bytes: 255 on ext4 and most other systems of its kind.</param>
/// <param name="PathUnits">Longest path inside the bag in UTF-16 units. Many Windows programs stop at 260 with drive,
/// the bag's own folder and a closing NUL.</param>
public sealed record NameLimits(int NameUnits = 255, int NameBytes = 255, int PathUnits = 230)
{
    /// <summary>Names that go onto any of the common file systems.</summary>
    public static NameLimits Common { get; } = new();
}
