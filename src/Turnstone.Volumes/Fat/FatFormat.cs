using Turnstone.Media;

namespace Turnstone.Volumes.Fat;

/// <summary>Recognises FAT by its boot sector, or on FAT32 by the copy of it where the first one is not held or damaged.</summary>
internal sealed class FatFormat : IVolumeFormat
{
    // Where every known formatter puts the copy; the field that tells is in the very sector that is lost.
    private const int UsualCopySector = 6;

    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        if (part.Parse(0, FatBootSector.Length, FatBootSector.Read).OrNone is { } boot)
            return [new FatVolume(part, name, boot, Origin.Table)];
        foreach (int sectorBytes in (int[])[512, 1024, 2048, 4096])
        {
            FatBootSector? copy = part.Parse((long)sectorBytes * UsualCopySector, FatBootSector.Length, FatBootSector.Read).OrNone;
            if (copy is { CopySector: UsualCopySector } && copy.SectorBytes == sectorBytes)
                return [new FatVolume(part, name, copy, Origin.Copy)];
        }

        return [];
    }
}
