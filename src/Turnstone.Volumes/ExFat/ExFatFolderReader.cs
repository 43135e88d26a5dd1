using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>Puts the slots of an exFAT folder together to sets.</summary>
internal sealed class ExFatFolderReader(UpCaseTable upCase) : IFolderReader
{
    private readonly byte[] _set = new byte[256 * EntrySet.Slot];
    private int _have;

    /// <inheritdoc/>
    public IEnumerable<FoundEntry> Read(IEnumerable<Stretch> stretches, Folder folder)
    {
        _have = 0;
        foreach (Stretch stretch in stretches)
        {
            if (stretch.AfterGap && Finish() is { } cut)
                yield return cut;
            for (int at = 0; at + EntrySet.Slot <= stretch.Bytes.Length; at += EntrySet.Slot)
            {
                ReadOnlyMemory<byte> slot = stretch.Bytes.Slice(at, EntrySet.Slot);
                if (!Belongs(slot.Span) && Finish() is { } found)
                    yield return found;
                if (slot.Span[0] == 0)
                    yield break;
                Take(slot.Span);
                if (IsFull() && Finish() is { } whole)
                    yield return whole;
            }
        }

        if (Finish() is { } last)
            yield return last;
    }

    private bool IsFull() => _have > 0 && _have == EntrySet.Slots(_set) * EntrySet.Slot;

    /// <summary>Whether a slot goes on with the set that was begun: a secondary one, in use or given up as the set is.</summary>
    private bool Belongs(ReadOnlySpan<byte> slot) =>
        _have > 0 && (slot[0] & EntrySet.Secondary) != 0 && (slot[0] & EntrySet.InUse) == (_set[0] & EntrySet.InUse);

    private void Take(ReadOnlySpan<byte> slot)
    {
        if (_have == 0 && (slot[0] | EntrySet.InUse) != EntrySet.File)
            return;
        slot.CopyTo(_set.AsSpan(_have));
        _have += EntrySet.Slot;
    }

    private FoundEntry? Finish()
    {
        FoundEntry? found = _have == 0 ? null : EntrySet.Read(_set.AsSpan(0, _have), upCase).OrNone;
        _have = 0;
        return found;
    }
}
