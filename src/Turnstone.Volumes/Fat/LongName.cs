using System.Buffers.Binary;

namespace Turnstone.Volumes.Fat;

/// <summary>Collects the slots of a long name, which stand before the short entry, last part first.</summary>
/// <remarks>Microsoft, FAT: General Overview of On-Disk Format, 1.03, 2000, long directory entries (from memory).</remarks>
internal sealed class LongName
{
    private const int Ord = 0, Chksum = 13, UnitsInSlot = 13, MostSlots = 20;
    private const byte LastPart = 0x40;
    private static readonly int[] s_unitOffsets = [1, 3, 5, 7, 9, 14, 16, 18, 20, 22, 24, 28, 30];
    private readonly List<byte[]> _slots = [];

    /// <summary>Whether parts are waiting for their short entry.</summary>
    public bool IsBegun => _slots.Count > 0;

    public void Clear() => _slots.Clear();

    /// <summary>Takes the next slot; one that does not go on with those before starts a new name.</summary>
    public void Add(ReadOnlySpan<byte> slot)
    {
        if (IsBegun && !GoesOn(slot))
            _slots.Clear();
        // A name of deleted slots may follow another one's that carries the same sum by chance: the newest parts are the nearest.
        if (_slots.Count == MostSlots)
            _slots.RemoveAt(0);
        _slots.Add(slot.ToArray());
    }

    /// <summary>The name, when the parts are all there and belong to this short entry; null otherwise.</summary>
    public string? For(ReadOnlySpan<byte> shortEntry)
    {
        if (!IsBegun)
            return null;
        bool deleted = shortEntry[0] == ShortEntry.Deleted;
        byte sum = _slots[0][Chksum];
        return deleted ? NameOfDeleted(shortEntry, sum) : IsWhole() && ShortEntry.Checksum(shortEntry) == sum ? Text(_slots) : null;
    }

    private bool GoesOn(ReadOnlySpan<byte> slot)
    {
        byte before = _slots[^1][Ord];
        bool sameName = slot[Chksum] == _slots[^1][Chksum];
        return before == ShortEntry.Deleted ? sameName && slot[Ord] == ShortEntry.Deleted : sameName && slot[Ord] == (before & ~LastPart) - 1;
    }

    private bool IsWhole() =>
        (_slots[0][Ord] & LastPart) != 0 && (_slots[0][Ord] & ~LastPart) == _slots.Count && (_slots[^1][Ord] & ~LastPart) == 1;

    /// <summary>The order numbers are gone and so is the short name's first letter: the sum tells which letter it was.</summary>
    private string? NameOfDeleted(ReadOnlySpan<byte> shortEntry, byte sum)
    {
        Span<byte> name = stackalloc byte[ShortEntry.NameLength];
        shortEntry[..ShortEntry.NameLength].CopyTo(name);
        for (int letter = ' ' + 1; letter <= byte.MaxValue; letter++)
        {
            name[0] = (byte)letter;
            if (ShortEntry.Checksum(name) == sum)
                return Text(FromLastEnd());
        }

        return null;
    }

    /// <summary>Of the deleted slots, those after the last one before which a name must have ended.</summary>
    private List<byte[]> FromLastEnd()
    {
        int start = _slots.Count - 1;
        while (start > 0 && Units(_slots[start]) is [.., not ('\0' or '\uFFFF')])
            start--;
        return _slots[start..];
    }

    private static string Text(List<byte[]> slots)
    {
        Span<char> text = stackalloc char[MostSlots * UnitsInSlot];
        int length = 0;
        for (int i = slots.Count - 1; i >= 0; i--)
        {
            foreach (char unit in Units(slots[i]))
                text[length++] = unit;
        }

        int end = text[..length].IndexOf('\0');
        return new string(text[..(end < 0 ? length : end)]);
    }

    private static char[] Units(byte[] slot) => [.. s_unitOffsets.Select(at => (char)BinaryPrimitives.ReadUInt16LittleEndian(slot.AsSpan(at)))];
}
