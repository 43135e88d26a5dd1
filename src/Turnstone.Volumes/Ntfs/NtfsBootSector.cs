using System.Buffers.Binary;
using System.Numerics;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Boot sector of an NTFS volume: the sizes and places from which everything else is found.</summary>
/// <param name="SectorBytes">Bytes in one sector as the formatting system saw it.</param>
/// <param name="ClusterBytes">Bytes in one cluster, 512 to 2 MiB.</param>
/// <param name="TotalSectors">Sectors of the volume without the last one, which holds the copy of this sector.</param>
/// <param name="MftCluster">First cluster of the file table ($MFT).</param>
/// <param name="MirrorCluster">First cluster of the copy of its first records ($MFTMirr).</param>
/// <param name="RecordBytes">Bytes in one record of the file table.</param>
/// <param name="IndexBytes">Bytes in one block of a folder's index.</param>
/// <param name="Serial">Volume serial number.</param>
/// <remarks>Offsets: no official specification is public; fields as in the Linux kernel 6.1, fs/ntfs3/ntfs.h, struct NTFS_BOOT.</remarks>
internal sealed record NtfsBootSector(int SectorBytes, int ClusterBytes, long TotalSectors, long MftCluster, long MirrorCluster, int RecordBytes, int IndexBytes, ulong Serial)
{
    /// <summary>Bytes of a sector that this structure takes.</summary>
    public const int Length = 512;

    private const int Oem = 0x03, BytesPerSector = 0x0B, SectorsPerCluster = 0x0D, Total = 0x28, Mft = 0x30, Mirror = 0x38, PerRecord = 0x40, PerIndex = 0x44, SerialNumber = 0x48;
    private const int ClusterBytesMax = 2 << 20, BlockBytesMax = 65_536;

    // Far past any real volume (NTFS ends at 8 PiB); keeps every sum of an offset and a length inside a long.
    private const long VolumeBytesMax = 1L << 56;

    /// <summary>Bytes of the volume with the copy of the boot sector at its end.</summary>
    public long VolumeBytes => (TotalSectors + 1) * SectorBytes;

    /// <summary>Where the copy of the boot sector lies.</summary>
    public long CopyOffset => TotalSectors * SectorBytes;

    /// <summary>Whole clusters of the volume.</summary>
    public long Clusters => TotalSectors * SectorBytes / ClusterBytes;

    /// <summary>First byte of the file table.</summary>
    public long MftOffset => MftCluster * ClusterBytes;

    /// <summary>First byte of the copy of its first records.</summary>
    public long MirrorOffset => MirrorCluster * ClusterBytes;

    /// <summary>Records that the copy repeats: four, or one cluster when that is larger.</summary>
    public int MirrorRecords => Math.Max(4, ClusterBytes / RecordBytes);

    /// <summary>Reads the structure; damaged where a field cannot be.</summary>
    public static Parsed<NtfsBootSector> Read(ReadOnlySpan<byte> sector)
    {
        if (sector.Length < Length)
            return new Parsed<NtfsBootSector>.Damaged(sector.Length, "boot sector cut short");
        if (!sector[Oem..].StartsWith("NTFS    "u8))
            return new Parsed<NtfsBootSector>.Damaged(Oem, "no 'NTFS    '");
        int bytes = BinaryPrimitives.ReadUInt16LittleEndian(sector[BytesPerSector..]);
        if (bytes is < 512 or > 4096 || !BitOperations.IsPow2(bytes))
            return new Parsed<NtfsBootSector>.Damaged(BytesPerSector, $"sector size {bytes}");
        long cluster = ClusterSectors(sector[SectorsPerCluster]) * bytes;
        if (cluster is < 512 or > ClusterBytesMax || !BitOperations.IsPow2(cluster))
            return new Parsed<NtfsBootSector>.Damaged(SectorsPerCluster, $"cluster of {cluster} bytes");
        int record = BlockBytes((sbyte)sector[PerRecord], (int)cluster);
        if (record == 0)
            return new Parsed<NtfsBootSector>.Damaged(PerRecord, $"record size code {sector[PerRecord]}");
        int index = BlockBytes((sbyte)sector[PerIndex], (int)cluster);
        if (index == 0)
            return new Parsed<NtfsBootSector>.Damaged(PerIndex, $"index block size code {sector[PerIndex]}");
        return Places(sector, bytes, (int)cluster, record, index);
    }

    private static Parsed<NtfsBootSector> Places(ReadOnlySpan<byte> sector, int bytes, int cluster, int record, int index)
    {
        long total = BinaryPrimitives.ReadInt64LittleEndian(sector[Total..]);
        if (total <= 0 || total > VolumeBytesMax / bytes)
            return new Parsed<NtfsBootSector>.Damaged(Total, $"{total} sectors");
        long mft = BinaryPrimitives.ReadInt64LittleEndian(sector[Mft..]), mirror = BinaryPrimitives.ReadInt64LittleEndian(sector[Mirror..]);
        long clusters = total * bytes / cluster;
        if (mft < 0 || mft >= clusters)
            return new Parsed<NtfsBootSector>.Damaged(Mft, $"$MFT at cluster {mft} of {clusters}");
        if (mirror < 0 || mirror >= clusters)
            return new Parsed<NtfsBootSector>.Damaged(Mirror, $"$MFTMirr at cluster {mirror} of {clusters}");
        ulong serial = BinaryPrimitives.ReadUInt64LittleEndian(sector[SerialNumber..]);
        return new Parsed<NtfsBootSector>.Value(new NtfsBootSector(bytes, cluster, total, mft, mirror, record, index, serial));
    }

    // Above 0x80 the byte is a negative power of two: how clusters over 64 KiB are written.
    private static long ClusterSectors(byte code) => code <= 0x80 ? code : 256 - code < 16 ? 1L << (256 - code) : 0;

    private static int BlockBytes(sbyte code, int cluster)
    {
        long bytes = code > 0 ? (long)code * cluster : -code is >= 9 and <= 16 ? 1L << -code : 0;
        return bytes is >= 512 and <= BlockBytesMax && BitOperations.IsPow2(bytes) ? (int)bytes : 0;
    }
}
