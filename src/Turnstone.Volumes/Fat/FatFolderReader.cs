using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.Fat;

/// <summary>Reads the slots of a FAT folder.</summary>
internal sealed class FatFolderReader(bool wide) : IFolderReader
{
    private const string StartNotHeld = "the start of its folder, which would say that it is this folder, is not held";
    private const string NameMayBeLonger = "whether it has a long name is not held";

    /// <inheritdoc/>
    public IEnumerable<FoundEntry> Read(IEnumerable<Stretch> stretches, Folder folder)
    {
        var longName = new LongName();
        bool atStart = true, isUnproven = false;
        foreach (Stretch stretch in stretches)
        {
            bool afterGap = stretch.AfterGap;
            if (afterGap)
                longName.Clear();
            if (atStart && !stretch.AfterGap && !folder.Path.IsRoot && !IsFolderOf(stretch.Bytes.Span, folder))
                yield break;
            isUnproven |= atStart && stretch.AfterGap && !folder.Path.IsRoot;
            atStart = false;
            for (int at = 0; at + ShortEntry.Slot <= stretch.Bytes.Length; at += ShortEntry.Slot)
            {
                if (stretch.Bytes.Span[at] == 0)
                    yield break;
                if (Next(stretch.Bytes.Span.Slice(at, ShortEntry.Slot), longName, ref afterGap) is { } found)
                    yield return isUnproven && found.Certainty == Certainty.Sure ? found with { Certainty = Certainty.Likely, Notes = [StartNotHeld] } : found;
            }
        }
    }

    /// <summary>A folder starts with an entry for itself; without it these are some file's bytes.</summary>
    private bool IsFolderOf(ReadOnlySpan<byte> start, Folder folder)
    {
        if (start.Length < ShortEntry.Slot || !start[..ShortEntry.NameLength].SequenceEqual(".          "u8))
            return false;
        uint own = ShortEntry.FirstCluster(start) & (wide ? uint.MaxValue : 0xFFFF);
        return folder.Chain is { Runs: [var first, ..] } && own == first.First;
    }

    private FoundEntry? Next(ReadOnlySpan<byte> slot, LongName longName, ref bool afterGap)
    {
        if (ShortEntry.IsLongName(slot))
        {
            longName.Add(slot);
            return null;
        }

        bool unsureName = afterGap;
        afterGap = false;
        string? name = longName.For(slot);
        bool lostName = longName.IsBegun && name is null;
        longName.Clear();
        bool isOther = (ShortEntry.Attributes(slot) & ShortEntry.VolumeLabel) != 0 || slot[0] == (byte)'.';
        if (isOther || ShortEntry.Read(slot, name, wide).OrNone is not { } found)
            return null;
        return Judge(found, name, unsureName, lostName);
    }

    private static FoundEntry Judge(FoundEntry found, string? longName, bool unsureName, bool lostName)
    {
        if (longName is not null)
            return found.Deleted ? found with { Certainty = Certainty.Likely } : found;
        if (found.Deleted)
            return found with { Certainty = Certainty.Guessed, Notes = ["the first letter of its name is lost"] };
        if (lostName)
            return found with { Certainty = Certainty.Likely, Notes = ["its long name does not belong to it or is cut"] };
        return unsureName ? found with { Certainty = Certainty.Likely, Notes = [NameMayBeLonger] } : found;
    }
}
