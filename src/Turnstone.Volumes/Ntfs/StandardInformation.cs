using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Times and flags of a file.</summary>
/// <remarks>Layout as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct ATTR_STD_INFO.</remarks>
internal sealed record StandardInformation(EntryTimes Times, uint Flags)
{
    private const int FlagsAt = 0x20;
    private const uint Reparse = 0x400;

    /// <summary>Whether the file has a reparse point, also when that is not held.</summary>
    public bool HasReparsePoint => (Flags & Reparse) != 0;

    /// <summary>Reads the structure; damaged when it is too short.</summary>
    public static Parsed<StandardInformation> Read(ReadOnlySpan<byte> value) => value.Length < FlagsAt + 4
        ? new Parsed<StandardInformation>.Damaged(value.Length, "standard information cut short")
        : new Parsed<StandardInformation>.Value(new StandardInformation(FileTimes.Read(value), BinaryPrimitives.ReadUInt32LittleEndian(value[FlagsAt..])));

    /// <summary>The flags in the model's words.</summary>
    public static EntryAttributes Attributes(uint flags) =>
        When(flags, 0x1, EntryAttributes.ReadOnly) | When(flags, 0x2, EntryAttributes.Hidden) | When(flags, 0x4, EntryAttributes.System)
        | When(flags, 0x20, EntryAttributes.Archive) | When(flags, 0x800, EntryAttributes.Compressed) | When(flags, 0x4000, EntryAttributes.Encrypted);

    private static EntryAttributes When(uint flags, uint bit, EntryAttributes attribute) => (flags & bit) == 0 ? EntryAttributes.None : attribute;
}

/// <summary>The four times that NTFS keeps, in the order in which they stand on the disk.</summary>
internal static class FileTimes
{
    /// <summary>Bytes of the four.</summary>
    public const int Bytes = 32;

    // DateTimeOffset ends with the year 9999; a file of today does not lie there, and ticks past it would throw.
    private static readonly long Start = DateTime.FromFileTimeUtc(0).Ticks;
    private static readonly long TicksMax = DateTimeOffset.MaxValue.UtcTicks - Start;

    public static EntryTimes Read(ReadOnlySpan<byte> bytes) =>
        new(Modified: At(bytes[8..]), Created: At(bytes), Accessed: At(bytes[24..]), Changed: At(bytes[16..]));

    // 0 is how a field that was never set looks.
    private static DateTimeOffset? At(ReadOnlySpan<byte> bytes)
    {
        long ticks = BinaryPrimitives.ReadInt64LittleEndian(bytes);
        return ticks <= 0 || ticks > TicksMax ? null : new DateTimeOffset(ticks + Start, TimeSpan.Zero);
    }
}
