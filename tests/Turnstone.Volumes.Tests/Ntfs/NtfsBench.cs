using System.Buffers.Binary;
using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>Volumes made by mkntfs and ntfs-3g, and how the tests look at them.</summary>
internal static class NtfsBench
{
    /// <summary>Bytes of the volume that make-ntfs.sh makes.</summary>
    public const long VolumeBytes = 64 << 20;

    /// <summary>The volume with 512-byte sectors and 4 KiB clusters.</summary>
    public static OutsideVolume Usual() => OutsideVolume.Make("make-ntfs.sh");

    /// <summary>The volume that starts at a place of the view.</summary>
    public static Volume Open(ISectorView view, long start = 0) => TryOpen(view, start) ?? throw new InvalidOperationException("no NTFS volume there");

    /// <summary>The volume that starts at a place of the view, or null.</summary>
    public static Volume? TryOpen(ISectorView view, long start = 0) =>
        VolumeFormats.Open(new PartView(view, ByteRange.Between(start, view.Length)), "p1").SingleOrDefault(volume => volume.Facts.Kind == "NTFS");

    /// <summary>How the manifest writes an entry's path.</summary>
    public static string PathOf(Entry entry)
    {
        string path = string.Join('/', entry.Path.Names);
        return entry.Kind == EntryKind.Stream ? path[..path.LastIndexOf('/')] + ":" + entry.Path.Name : path;
    }

    /// <summary>Digest of the content, or null where any of it cannot be had.</summary>
    public static string? Digest(FileContent? content, ISectorView view)
    {
        if (content is null || content.Missing(view).Any())
            return null;
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        // An odd step, so that reads start and end inside clusters, units and chunks.
        var buffer = new byte[70_001];
        for (long at = 0; at < content.Length; at += buffer.Length)
        {
            Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, content.Length - at));
            if (!content.TryRead(view, at, part))
                return null;
            hash.AppendData(part);
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }

    /// <summary>All bytes, where all can be had.</summary>
    public static byte[] Bytes(Entry entry, ISectorView view)
    {
        var bytes = new byte[entry.Content!.Length];
        Assert.True(entry.Content.TryRead(view, 0, bytes));
        return bytes;
    }

    /// <summary>Where the first attribute of a kind, or the end of all, starts in a record.</summary>
    public static int AttributeAt(byte[] record, uint type)
    {
        int at = BinaryPrimitives.ReadUInt16LittleEndian(record.AsSpan(0x14)) & 0xF8;
        while (at + 8 < record.Length && BinaryPrimitives.ReadUInt32LittleEndian(record.AsSpan(at)) is uint here && here != type && here != 0xFFFF_FFFF)
            at += Math.Max(8, (int)(BinaryPrimitives.ReadUInt32LittleEndian(record.AsSpan(at + 4)) & 0x3F8));
        return at;
    }

    /// <summary>Random holes over a share of the volume, in pieces of 1 to 64 sectors.</summary>
    public static HoledView Holes(ISectorView view, double share, int seed)
    {
        var random = new Random(seed);
        var holes = new List<ByteRange>();
        for (long left = (long)(view.Length * share); left > 0; left -= holes[^1].Length)
            holes.Add(new ByteRange(random.NextInt64(view.Length / 512) * 512, random.Next(1, 65) * 512));
        return new HoledView(view, holes);
    }
}
