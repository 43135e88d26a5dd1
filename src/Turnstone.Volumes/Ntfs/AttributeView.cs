using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Kinds of attribute that are read here.</summary>
internal enum AttributeType : uint
{
    None = 0,
    StandardInformation = 0x10,
    AttributeList = 0x20,
    FileName = 0x30,
    VolumeName = 0x60,
    VolumeInformation = 0x70,
    Data = 0x80,
    IndexRoot = 0x90,
    IndexAllocation = 0xA0,
    Bitmap = 0xB0,
    ReparsePoint = 0xC0,
    End = 0xFFFF_FFFF,
}

/// <summary>One attribute inside a restored record. Its length was checked; whether its bytes may be believed is asked stretch by stretch.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTRIB.</remarks>
internal readonly ref struct AttributeView(ReadOnlySpan<byte> record, int at, int length, Strides good)
{
    /// <summary>Bytes that every attribute starts with.</summary>
    public const int HeadBytes = 16;

    private const int NonResidentAt = 8, NameLengthAt = 9, NameOffsetAt = 10, FlagsAt = 12;
    private const int ValueLengthAt = 0x10, ValueOffsetAt = 0x14, ResidentHead = 0x18;
    private const int FirstVcnAt = 0x10, LastVcnAt = 0x18, RunsAt = 0x20, UnitAt = 0x22, SizeAt = 0x30, ValidAt = 0x38, NonResidentHead = 0x40;

    private readonly ReadOnlySpan<byte> _record = record;
    private readonly ReadOnlySpan<byte> _bytes = record.Slice(at, length);
    private readonly int _at = at;
    private readonly Strides _good = good;

    public AttributeType Type => (AttributeType)BinaryPrimitives.ReadUInt32LittleEndian(_bytes);

    public bool IsResident => _bytes[NonResidentAt] == 0;

    public int Flags => BinaryPrimitives.ReadUInt16LittleEndian(_bytes[FlagsAt..]);

    public bool IsNamed => _bytes[NameLengthAt] != 0;

    /// <summary>Whether the attribute's own head is good; without it only type and length are known.</summary>
    public bool HasHead => _bytes.Length >= HeadLength && _good.Cover(_at, HeadLength);

    public long FirstVcn => BinaryPrimitives.ReadInt64LittleEndian(_bytes[FirstVcnAt..]);

    public long LastVcn => BinaryPrimitives.ReadInt64LittleEndian(_bytes[LastVcnAt..]);

    public int CompressionUnit => _bytes[UnitAt];

    public long Size => BinaryPrimitives.ReadInt64LittleEndian(_bytes[SizeAt..]);

    public long ValidSize => BinaryPrimitives.ReadInt64LittleEndian(_bytes[ValidAt..]);

    /// <summary>Run list as far as it is good.</summary>
    public ReadOnlySpan<byte> Runs
    {
        get
        {
            int start = BinaryPrimitives.ReadUInt16LittleEndian(_bytes[RunsAt..]);
            return start < NonResidentHead || start > _bytes.Length ? [] : _bytes.Slice(start, _good.GoodPrefix(_at + start, _bytes.Length - start));
        }
    }

    private int HeadLength => IsResident ? ResidentHead : NonResidentHead;

    /// <summary>Where the value of a resident attribute lies in the record; false when it reaches out of the attribute.</summary>
    public bool TryValue(out ReadOnlySpan<byte> value, out int place)
    {
        uint size = BinaryPrimitives.ReadUInt32LittleEndian(_bytes[ValueLengthAt..]);
        int start = BinaryPrimitives.ReadUInt16LittleEndian(_bytes[ValueOffsetAt..]);
        bool fits = start >= ResidentHead && start <= _bytes.Length && size <= _bytes.Length - start;
        place = _at + start;
        value = fits ? _record.Slice(place, (int)size) : [];
        return fits;
    }

    /// <summary>The attribute's name; false when it reaches out of the attribute or is not good.</summary>
    public bool TryName(out string name)
    {
        int start = BinaryPrimitives.ReadUInt16LittleEndian(_bytes[NameOffsetAt..]), size = 2 * _bytes[NameLengthAt];
        bool fits = start + size <= _bytes.Length && _good.Cover(_at + start, size);
        name = fits ? Utf16.Of(_bytes.Slice(start, size)) : "";
        return fits;
    }
}

/// <summary>Names as they stand on the disk: little-endian UTF-16, lone surrogates and all.</summary>
internal static class Utf16
{
    public static string Of(ReadOnlySpan<byte> bytes) => new(MemoryMarshal.Cast<byte, char>(bytes));
}

/// <summary>Goes through the attributes of a restored record and stops where the next one cannot be found.</summary>
internal ref struct AttributeWalk(ReadOnlySpan<byte> record, RecordHeader header)
{
    private readonly ReadOnlySpan<byte> _record = record;
    private int _at = header.FirstAttribute;
    private int _length;

    /// <summary>Whether attributes may follow that are not held.</summary>
    public bool IsCutShort { get; private set; }

    /// <summary>What made no sense, or null.</summary>
    public string? Trouble { get; private set; }

    public readonly AttributeView Current => new(_record, _at, _length, header.Good);

    public bool MoveNext()
    {
        _at += _length;
        _length = 0;
        if (_at + 4 > header.Used)
            return Stop($"attributes reach {_at} of {header.Used} bytes without an end mark");
        if (!header.Good.Cover(_at, 4))
            return NotHeld();
        if (BinaryPrimitives.ReadUInt32LittleEndian(_record[_at..]) == (uint)AttributeType.End)
            return false;
        if (_at + AttributeView.HeadBytes > header.Used)
            return Stop($"attribute at {_at} reaches out of the record");
        if (!header.Good.Cover(_at, AttributeView.HeadBytes))
            return NotHeld();
        uint length = BinaryPrimitives.ReadUInt32LittleEndian(_record[(_at + 4)..]);
        if (length < AttributeView.HeadBytes + 8 || length % 8 != 0 || length > header.Used - _at)
            return Stop($"attribute of {length} bytes at {_at}");
        _length = (int)length;
        return true;
    }

    private bool NotHeld()
    {
        IsCutShort = true;
        return false;
    }

    private bool Stop(string trouble)
    {
        Trouble = trouble;
        return NotHeld();
    }
}
