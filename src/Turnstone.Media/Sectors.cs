namespace Turnstone.Media;

/// <summary>Size of one sector in bytes: a power of two from 512 to 65,536.</summary>
public readonly record struct SectorSize
{
    private readonly int _bytes;

    /// <summary>Takes a size in bytes.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Not a power of two from 512 to 65,536.</exception>
    public SectorSize(int bytes)
    {
        if (bytes is < 512 or > 65_536 || !int.IsPow2(bytes))
            throw new ArgumentOutOfRangeException(nameof(bytes), bytes, "a sector has a power of two from 512 to 65,536 bytes");
        _bytes = bytes;
    }

    /// <summary>The common 512 bytes; also what <c>default</c> means.</summary>
    public static SectorSize Small => new(512);

    /// <summary>Bytes in one sector.</summary>
    public int Bytes => _bytes == 0 ? 512 : _bytes;

    /// <inheritdoc/>
    public override string ToString() => $"{Bytes} B";
}

/// <summary>Address of one logical sector, counted from 0.</summary>
public readonly record struct Lba(long Value) : IComparable<Lba>
{
    /// <summary>The sector that lies <paramref name="count"/> sectors further on.</summary>
    /// <exception cref="OverflowException">Past the largest address.</exception>
    public static Lba operator +(Lba start, SectorCount count) => new(checked(start.Value + count.Value));

    /// <summary>Sectors from <paramref name="from"/> up to <paramref name="to"/>; negative when it lies before.</summary>
    public static SectorCount operator -(Lba to, Lba from) => new(checked(to.Value - from.Value));

    /// <summary>Whether the left sector lies before the right one.</summary>
    public static bool operator <(Lba left, Lba right) => left.Value < right.Value;

    /// <summary>Whether the left sector lies after the right one.</summary>
    public static bool operator >(Lba left, Lba right) => left.Value > right.Value;

    /// <summary>Whether the left sector lies before the right one or is it.</summary>
    public static bool operator <=(Lba left, Lba right) => left.Value <= right.Value;

    /// <summary>Whether the left sector lies after the right one or is it.</summary>
    public static bool operator >=(Lba left, Lba right) => left.Value >= right.Value;

    /// <summary>Offset of the sector's first byte from the start of the source.</summary>
    public long ByteOffset(SectorSize size) => checked(Value * size.Bytes);

    /// <inheritdoc/>
    public int CompareTo(Lba other) => Value.CompareTo(other.Value);

    /// <inheritdoc/>
    public override string ToString() => Value.ToString();
}

/// <summary>A number of sectors; negative only as a difference.</summary>
public readonly record struct SectorCount(long Value) : IComparable<SectorCount>
{
    /// <summary>No sector.</summary>
    public static SectorCount None => default;

    /// <summary>The bytes that this many sectors hold.</summary>
    public long Bytes(SectorSize size) => checked(Value * size.Bytes);

    /// <inheritdoc/>
    public int CompareTo(SectorCount other) => Value.CompareTo(other.Value);

    /// <inheritdoc/>
    public override string ToString() => Value.ToString();
}

/// <summary>Sectors from <see cref="Start"/> up to, not including, <see cref="End"/>.</summary>
public readonly record struct SectorRange
{
    /// <summary>Takes the first sector and how many there are.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A negative address or count, or an end past the largest address.</exception>
    public SectorRange(Lba start, SectorCount count)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(start.Value);
        ArgumentOutOfRangeException.ThrowIfNegative(count.Value);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(count.Value, long.MaxValue - start.Value);
        Start = start;
        Count = count;
    }

    /// <summary>First sector.</summary>
    public Lba Start { get; }

    /// <summary>How many sectors.</summary>
    public SectorCount Count { get; }

    /// <summary>The sector after the last one.</summary>
    public Lba End => Start + Count;

    /// <summary>Whether there is no sector in it.</summary>
    public bool IsEmpty => Count.Value == 0;

    /// <summary>Sectors from <paramref name="start"/> up to, not including, <paramref name="end"/>.</summary>
    public static SectorRange Between(Lba start, Lba end) => new(start, end - start);

    /// <summary>Sectors from <paramref name="start"/> up to, not including, <paramref name="end"/>, as plain addresses.</summary>
    public static SectorRange Between(long start, long end) => Between(new Lba(start), new Lba(end));

    /// <summary>Whether the sector lies in the range.</summary>
    public bool Contains(Lba lba) => Start <= lba && lba < End;

    /// <summary>What both ranges share; empty when they don't meet.</summary>
    public SectorRange Intersect(SectorRange other)
    {
        long from = Math.Max(Start.Value, other.Start.Value), to = Math.Min(End.Value, other.End.Value);
        return from < to ? Between(from, to) : new SectorRange(new Lba(from), SectorCount.None);
    }

    /// <summary>The bytes of these sectors on a source with that sector size.</summary>
    public ByteRange Bytes(SectorSize size) => new(Start.ByteOffset(size), Count.Bytes(size));

    /// <inheritdoc/>
    public override string ToString() => $"{Start}..{End}";
}
