using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>What stands behind one stretch of a file.</summary>
public enum ExtentKind
{
    /// <summary>Bytes at a place of the source.</summary>
    Stored,

    /// <summary>No place: the stretch reads as zeros.</summary>
    Zeros,

    /// <summary>There is a place, but what tells it is not held or damaged.</summary>
    Unknown,
}

/// <summary>One stretch of a file, in file order, in bytes of the source (not of the volume).</summary>
public readonly record struct Extent
{
    private Extent(ExtentKind kind, long offset, long length)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(offset);
        ArgumentOutOfRangeException.ThrowIfNegative(length);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(length, long.MaxValue - offset);
        Kind = kind;
        Offset = offset;
        Length = length;
    }

    /// <summary>What stands behind the stretch.</summary>
    public ExtentKind Kind { get; }

    /// <summary>First byte on the source; 0 and without meaning unless <see cref="ExtentKind.Stored"/>.</summary>
    public long Offset { get; }

    /// <summary>How many bytes of the file.</summary>
    public long Length { get; }

    /// <summary>Where the stretch lies on the source; only for <see cref="ExtentKind.Stored"/>.</summary>
    public ByteRange Place => new(Offset, Length);

    /// <summary>A stretch that lies at a place of the source.</summary>
    public static Extent At(long offset, long length) => new(ExtentKind.Stored, offset, length);

    /// <summary>A stretch without a place, which reads as zeros.</summary>
    public static Extent Zeros(long length) => new(ExtentKind.Zeros, 0, length);

    /// <summary>A stretch whose place is not known.</summary>
    public static Extent Unknown(long length) => new(ExtentKind.Unknown, 0, length);

    /// <summary>The first <paramref name="length"/> bytes of the stretch.</summary>
    public Extent Cut(long length) => new(Kind, Offset, Math.Min(Length, length));
}
