using System.Buffers.Binary;
using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>Encrypted volumes: what is in them is a question for the client, who has the key.</summary>
internal static class EncryptedKinds
{
    private const string AskForKey = "encrypted: the client's password or key is needed, and one lost sector of the key area can cost everything";
    private const int MetadataBytes = 65_536, KeyAreaAtMost = 16 << 20;

    /// <summary>LUKS, versions 1 and 2; the second has a copy of its header.</summary>
    /// <remarks>LUKS On-Disk Format Specification 1.2.3 and LUKS2 On-Disk Format Specification 1.0 (from memory); compared with volumes of cryptsetup 2.6.1.</remarks>
    public static Recognition? Luks(PartView part)
    {
        if (LuksAt(part, 0, "LUKS\xBA\xBE") is { } main)
            return main;
        foreach (long at in (long[])[0x4000, 0x8000, 0x10000, 0x20000, 0x40000, 0x80000, 0x100000, 0x200000, 0x400000])
        {
            if (LuksAt(part, at, "SKUL\xBA\xBE") is { } copy)
                return copy with { Origin = Origin.Copy, Notes = [.. copy.Notes, "its header was read from the copy"] };
        }

        return null;
    }

    private static Recognition? LuksAt(PartView part, long at, string magic)
    {
        ReadOnlySpan<byte> header = part.At(at, 512);
        if (header.Length == 0 || !header[..6].SequenceEqual(System.Text.Encoding.Latin1.GetBytes(magic)))
            return null;
        int version = BinaryPrimitives.ReadUInt16BigEndian(header[6..]);
        ulong headerBytes = version == 1 ? BinaryPrimitives.ReadUInt32BigEndian(header[104..]) * 512UL : BinaryPrimitives.ReadUInt64BigEndian(header[8..]) * 2;
        return version is not (1 or 2) ? null : new Recognition($"LUKS{version}")
        {
            Id = Fields.Text(header.Slice(168, 40)),
            Label = version == 2 ? Fields.Text(header.Slice(24, 48)) : null,
            Certainty = version == 2 && at == 0 && part.At((long)Math.Min(headerBytes / 2, KeyAreaAtMost), 4).SequenceEqual("SKUL"u8) ? Certainty.Sure : Certainty.Likely,
            Skeleton = [new(0, version == 1 ? (long)Math.Clamp(headerBytes, MetadataBytes, KeyAreaAtMost) : KeyAreaAtMost)],
            Notes = [AskForKey],
        };
    }

    /// <summary>BitLocker, also in its form for portable drives; three copies of its metadata.</summary>
    /// <remarks>From memory; no such volume could be made here.</remarks>
    public static Recognition? BitLocker(PartView part)
    {
        ReadOnlySpan<byte> boot = part.At(0, 512);
        if (boot.Length == 0)
            return null;
        ReadOnlySpan<byte> guid = [0x3B, 0xD6, 0x67, 0x49, 0x29, 0x2E, 0xD8, 0x4A, 0x83, 0x99, 0xF6, 0xA3, 0x39, 0xE3, 0xD0, 0x01];
        bool isFixed = boot.Slice(3, 8).SequenceEqual("-FVE-FS-"u8), isPortable = boot.Slice(424, 16).SequenceEqual(guid);
        if (!isFixed && !isPortable)
            return null;
        int offsets = isPortable ? 440 : 176;
        var blocks = new List<ByteRange>();
        for (int i = 0; i < 3; i++)
        {
            long at = BinaryPrimitives.ReadInt64LittleEndian(boot[(offsets + (i * 8))..]);
            if (at > 0 && at < part.Length)
                blocks.Add(new ByteRange(at, MetadataBytes));
        }

        bool agrees = blocks.Any(block => part.At(block.Offset, 8).SequenceEqual("-FVE-FS-"u8));
        return new Recognition("BitLocker") { Certainty = agrees ? Certainty.Sure : Certainty.Likely, Skeleton = [new(0, 512), .. blocks], Notes = [AskForKey] };
    }

    /// <summary>CoreStorage, which carries encrypted HFS+.</summary>
    /// <remarks>From memory; no such volume could be made here.</remarks>
    public static Recognition? CoreStorage(PartView part)
    {
        ReadOnlySpan<byte> head = part.At(0, 512);
        bool isHead = head.Length > 0 && head.Slice(88, 2).SequenceEqual("CS"u8) && BinaryPrimitives.ReadUInt32LittleEndian(head[48..]) is 512 or 4096;
        return !isHead ? null : new Recognition("CoreStorage")
        {
            Skeleton = [new(0, MetadataBytes), ByteRange.Between(Math.Max(0, part.Length - MetadataBytes), part.Length)],
            Notes = ["mostly an encrypted HFS+ volume; " + AskForKey],
        };
    }
}
