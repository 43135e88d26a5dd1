using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>Recognises ext2, ext3 and ext4, by the first superblock or by its copies.</summary>
internal sealed class ExtFormat : IVolumeFormat
{
    /// <summary>Groups whose copies are looked at when the first superblock cannot be had.</summary>
    private const int CopiesLookedAt = 12;

    /// <summary>What the boot sectors of others hold at byte 3.</summary>
    private static readonly byte[][] OtherNames = ["NTFS    "u8.ToArray(), "EXFAT   "u8.ToArray(), "-FVE-FS-"u8.ToArray()];

    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name)
    {
        var bytes = new byte[ExtSuperblock.Size];
        bool held = part.TryRead(ExtSuperblock.Place, bytes);
        ExtSuperblock? first = held ? ExtSuperblock.Read(bytes).OrNone : null;
        if (first is { SumFits: true, CopyOfGroup: 0 } && (first.HasMetadataSums || !IsOutvoted(first, [.. Copies(part)])))
            return [new ExtVolume(part, first, name, Certainty.Sure)];

        // Something else stands there: an old copy further on is of a file system that was given up.
        if (IsTakenOver(part, held && first is null && !HasMagic(bytes) ? bytes : null))
            return [];
        List<ExtSuperblock> copies = [.. Copies(part)];
        if (Agreed(copies) is { } copy)
            return [new ExtVolume(part, copy, name, copies.Count(other => other.Id == copy.Id) > 1 ? Certainty.Likely : Certainty.Guessed)];
        return first is { CopyOfGroup: 0 } ? [new ExtVolume(part, first, name, Certainty.Guessed)] : [];
    }

    /// <summary>Whether another file system's boot sector stands at the start, or other bytes where the superblock was.</summary>
    /// <param name="part">Where the volume may lie.</param>
    /// <param name="instead">What is held in the superblock's place and is none; null where nothing is held or it is one.</param>
    private static bool IsTakenOver(PartView part, byte[]? instead)
    {
        var boot = new byte[512];
        if (part.TryRead(0, boot) && (OtherNames.Any(other => boot.AsSpan(3).StartsWith(other)) || (instead is not null && boot is [.., 0x55, 0xAA])))
            return true;
        return instead is not null && instead.AsSpan().ContainsAnyExcept((byte)0);
    }

    private static bool HasMagic(byte[] bytes) => bytes[0x38] == 0x53 && bytes[0x39] == 0xEF;

    /// <summary>Copies that stand where their own layout and group number put them.</summary>
    private static IEnumerable<ExtSuperblock> Copies(PartView part)
    {
        var bytes = new byte[ExtSuperblock.Size];
        for (int blockSize = 1024; blockSize <= 65_536; blockSize *= 2)
        {
            long perGroup = (long)blockSize * 8 * blockSize;
            foreach (long group in ExtLayout.SparseGroups().Take(CopiesLookedAt))
            {
                long place = (group * perGroup) + (blockSize == 1024 ? 1024 : 0);
                if (part.TryRead(place, bytes) && ExtSuperblock.Read(bytes).OrNone is { } copy && copy.CopyOfGroup == group
                    && copy.FirstBlock(group) * copy.BlockSize == place && copy.SumFits)
                    yield return copy;
            }
        }
    }

    /// <summary>Whether two copies agree on another layout: without a checksum a bent field shows in no other way.</summary>
    private static bool IsOutvoted(ExtSuperblock first, List<ExtSuperblock> copies) =>
        copies.Count(copy => copy.Id == first.Id && copy.Layout != first.Layout) > 1 && copies.Select(copy => copy.Layout).Distinct().Count() == 1;

    private static ExtSuperblock? Agreed(List<ExtSuperblock> copies) =>
        copies.GroupBy(copy => copy.Id).OrderByDescending(same => same.Count()).FirstOrDefault()?.First();
}
