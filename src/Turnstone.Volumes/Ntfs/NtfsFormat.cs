using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>NTFS, as written since Windows 2000 (versions 3.0 and 3.1).</summary>
/// <param name="from">
/// Which boot sector is believed: the first one (<see cref="Origin.Table"/>), or, where there is none, its copy in the volume's last
/// sector (<see cref="Origin.Copy"/>). The copy outlives a new file system, so it is asked after all other formats.
/// </param>
internal sealed class NtfsFormat(Origin from) : IVolumeFormat
{
    // The copy lies in the partition's last sector; tables that were rounded leave a little room after it.
    private const int CopySearchBytes = 64 << 10;

    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        Parsed<NtfsBootSector> first = Read(part, 0);
        if (first is Parsed<NtfsBootSector>.Value { Item: var boot })
            return from == Origin.Table ? [Volume(part, name, boot, Origin.Table, Notes(part, boot))] : [];
        if (from == Origin.Table || IsAnother(part) || Copy(part) is not { } copy)
            return [];
        string why = first.Match(_ => "", damaged => $"boot sector damaged at byte {damaged.At} ({damaged.What})", () => "boot sector not held");
        return [Volume(part, name, copy, Origin.Copy, [$"{why}; read from its copy in the volume's last sector", .. Past(part, copy)])];
    }

    // A boot sector of another kind that is whole was written after the copy at the end.
    private static bool IsAnother(PartView part)
    {
        var sector = new byte[NtfsBootSector.Length];
        return part.TryRead(0, sector) && sector.AsSpan(NtfsBootSector.Length - 2).SequenceEqual((byte[])[0x55, 0xAA]) && !sector.AsSpan(3).StartsWith("NTFS"u8);
    }

    private static NtfsVolume Volume(PartView part, string name, NtfsBootSector boot, Origin origin, IReadOnlyList<string> notes) =>
        new(new NtfsLayout(part, boot), name, origin, notes);

    private static Parsed<NtfsBootSector> Read(PartView part, long offset)
    {
        var sector = new byte[NtfsBootSector.Length];
        return part.TryRead(offset, sector) ? NtfsBootSector.Read(sector) : new Parsed<NtfsBootSector>.NotHeld();
    }

    // A copy counts only where it says itself that it lies: another volume's end may be in the same place.
    private static NtfsBootSector? Copy(PartView part)
    {
        long end = part.Length / NtfsBootSector.Length * NtfsBootSector.Length;
        for (long at = end - NtfsBootSector.Length; at > 0 && at >= end - CopySearchBytes; at -= NtfsBootSector.Length)
        {
            if (Read(part, at) is Parsed<NtfsBootSector>.Value { Item: var boot } && boot.CopyOffset == at)
                return boot;
        }

        return null;
    }

    private static List<string> Notes(PartView part, NtfsBootSector boot)
    {
        var notes = new List<string>(Past(part, boot));
        if (Read(part, boot.CopyOffset) is Parsed<NtfsBootSector>.Value { Item: var copy } && copy != boot)
            notes.Add("boot sector and its copy in the last sector tell different sizes; the first is used");
        return notes;
    }

    private static IEnumerable<string> Past(PartView part, NtfsBootSector boot)
    {
        if (boot.VolumeBytes > part.Length)
            yield return $"the volume has {boot.VolumeBytes} bytes, the place that it was found in only {part.Length}: its end is cut off, or the sector size was changed";
    }
}
