using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace Turnstone.Volumes.Partitions;

/// <summary>One partition in a GUID partition table.</summary>
/// <param name="Type">What it is for.</param>
/// <param name="First">First sector.</param>
/// <param name="Last">Last sector, itself included.</param>
/// <param name="Name">Its name, as far as the first NUL.</param>
internal sealed record GptEntry(Guid Type, long First, long Last, string Name)
{
    public const int Length = 128;
    private const int FirstLba = 32, LastLba = 40, PartitionName = 56, NameBytes = 72;

    /// <summary>Reads one entry; damaged also where it is not used or ends before it starts.</summary>
    public static Parsed<GptEntry> Read(ReadOnlySpan<byte> entry)
    {
        if (entry.Length < Length)
            return new Parsed<GptEntry>.Damaged(entry.Length, "entry cut short");
        var type = new Guid(entry[..16]);
        if (type == Guid.Empty)
            return new Parsed<GptEntry>.Damaged(0, "not used");
        long first = BinaryPrimitives.ReadInt64LittleEndian(entry[FirstLba..]), last = BinaryPrimitives.ReadInt64LittleEndian(entry[LastLba..]);
        if (first < 0 || last < first || last >= long.MaxValue / 65_536)
            return new Parsed<GptEntry>.Damaged(FirstLba, $"sectors {first} to {last}");
        ReadOnlySpan<char> name = MemoryMarshal.Cast<byte, char>(entry.Slice(PartitionName, NameBytes));
        int end = name.IndexOf('\0');
        return new Parsed<GptEntry>.Value(new GptEntry(type, first, last, new string(end < 0 ? name : name[..end])));
    }
}
