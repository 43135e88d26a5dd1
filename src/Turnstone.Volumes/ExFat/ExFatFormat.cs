using Turnstone.Media;

namespace Turnstone.Volumes.ExFat;

/// <summary>Recognises exFAT by its boot sector.</summary>
internal sealed class ExFatFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name) =>
        part.Parse(0, ExFatBootSector.Length, ExFatBootSector.Read).OrNone is { } boot ? [new ExFatVolume(part, name, boot, Origin.Table)] : [];
}

/// <summary>Recognises exFAT by the copy of its boot sector, where the first one is not held or damaged.</summary>
/// <remarks>The copy outlives a new file system in the same place, so it counts only where other structures agree with it.</remarks>
internal sealed class ExFatCopyFormat : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        foreach (int sectorBytes in (int[])[512, 1024, 2048, 4096])
        {
            // The copy lies twelve of the volume's own sectors further on; their size is known only from the copy itself.
            ExFatBootSector? copy = part.Parse((long)sectorBytes * ExFatBootSector.BootSectors, ExFatBootSector.Length, ExFatBootSector.Read).OrNone;
            if (copy?.SectorBytes == sectorBytes && new ExFatVolume(part, name, copy, Origin.Copy) is var volume && volume.IsConsistent)
                return [volume];
        }

        return [];
    }
}
