using Turnstone.Media;

namespace Turnstone.Volumes.ExFat;

/// <summary>Recognises exFAT by its boot sector, or by the copy of it where the first one is not held or damaged.</summary>
internal sealed class ExFatFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        if (part.Parse(0, ExFatBootSector.Length, ExFatBootSector.Read).OrNone is { } boot)
            return [new ExFatVolume(part, name, boot, Origin.Table)];
        foreach (int sectorBytes in (int[])[512, 1024, 2048, 4096])
        {
            // The copy lies twelve of the volume's own sectors further on; its size is known only from the copy itself.
            ExFatBootSector? copy = part.Parse((long)sectorBytes * ExFatBootSector.BootSectors, ExFatBootSector.Length, ExFatBootSector.Read).OrNone;
            if (copy?.SectorBytes == sectorBytes)
                return [new ExFatVolume(part, name, copy, Origin.Copy)];
        }

        return [];
    }
}
