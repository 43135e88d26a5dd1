using Turnstone.Volumes.Clusters;

namespace Turnstone.Volumes.ExFat;

/// <summary>Puts the slots of an exFAT folder together to sets, also those that a hole has cut.</summary>
internal sealed class ExFatFolderReader(UpCaseTable upCase) : IFolderReader
{
    private const int LettersInSlot = 15, NameLength = 3, SecondaryCount = 1;
    private readonly byte[] _set = new byte[256 * EntrySet.Slot];
    private int _have;
    private bool _lostHead;

    /// <inheritdoc/>
    public IEnumerable<FoundEntry> Read(IEnumerable<Stretch> stretches, Folder folder)
    {
        Clear();
        foreach (Stretch stretch in stretches)
        {
            if (stretch.AfterGap && Finish(LostPart.Tail) is { } cut)
                yield return cut;
            for (int at = 0; at + EntrySet.Slot <= stretch.Bytes.Length; at += EntrySet.Slot)
            {
                ReadOnlyMemory<byte> slot = stretch.Bytes.Slice(at, EntrySet.Slot);
                if (!Belongs(slot.Span) && Finish(LostPart.None) is { } found)
                    yield return found;
                if (slot.Span[0] == 0)
                    yield break;
                Take(slot.Span, mayLackHead: at == 0 && stretch.AfterGap);
                if (IsFull() && Finish(LostPart.None) is { } whole)
                    yield return whole;
            }
        }

        if (Finish(LostPart.Tail) is { } last)
            yield return last;
    }

    private void Clear() => (_have, _lostHead) = (0, false);

    private bool IsFull() => _have > 0 && _have == EntrySet.Slots(_set) * EntrySet.Slot;

    /// <summary>Whether a slot goes on with the set that was begun: a secondary one, in use or given up as the set is.</summary>
    private bool Belongs(ReadOnlySpan<byte> slot) =>
        _have > 0 && (slot[0] & EntrySet.Secondary) != 0 && (slot[0] & EntrySet.InUse) == (_set[0] & EntrySet.InUse);

    private void Take(ReadOnlySpan<byte> slot, bool mayLackHead)
    {
        if (_have == 0 && mayLackHead && (slot[0] | EntrySet.InUse) == EntrySet.Stream)
            StandInForHead(slot);
        if (_have == 0 && (slot[0] | EntrySet.InUse) != EntrySet.File)
            return;
        slot.CopyTo(_set.AsSpan(_have));
        _have += EntrySet.Slot;
    }

    /// <summary>The stream entry says how long the name is, and so how many slots the set has.</summary>
    private void StandInForHead(ReadOnlySpan<byte> stream)
    {
        _set.AsSpan(0, EntrySet.Slot).Clear();
        _set[0] = (byte)((EntrySet.File & ~EntrySet.InUse) | (stream[0] & EntrySet.InUse));
        _set[SecondaryCount] = (byte)(1 + ((stream[NameLength] + LettersInSlot - 1) / LettersInSlot));
        (_have, _lostHead) = (EntrySet.Slot, true);
    }

    private FoundEntry? Finish(LostPart lost)
    {
        FoundEntry? found = _have == 0 ? null : EntrySet.Read(_set.AsSpan(0, _have), upCase, _lostHead ? LostPart.Head : lost).OrNone;
        Clear();
        return found;
    }
}
