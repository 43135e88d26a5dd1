using Turnstone.Media;

namespace Turnstone.Volumes.Fat;

/// <summary>Recognises FAT by its boot sector.</summary>
internal sealed class FatFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name) =>
        part.Parse(0, FatBootSector.Length, FatBootSector.Read).OrNone is { } boot ? [new FatVolume(part, name, boot, Origin.Table)] : [];
}

/// <summary>Recognises FAT32 by the copy of its boot sector, where the first one is not held or damaged.</summary>
/// <remarks>The copy outlives a new file system in the same place, so it counts only where other structures agree with it.</remarks>
internal sealed class FatCopyFormat : IVolumeFormat
{
    // Where every known formatter puts the copy; the field that tells is in the very sector that is lost.
    private const int UsualCopySector = 6;

    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        foreach (int sectorBytes in (int[])[512, 1024, 2048, 4096])
        {
            FatBootSector? copy = part.Parse((long)sectorBytes * UsualCopySector, FatBootSector.Length, FatBootSector.Read).OrNone;
            if (copy is { CopySector: UsualCopySector } && copy.SectorBytes == sectorBytes && new FatVolume(part, name, copy, Origin.Copy) is var volume && volume.IsConsistent)
                return [volume];
        }

        return [];
    }
}
