using System.Buffers.Binary;

namespace Turnstone.Patients.Demo;

/// <summary>A file or folder that an invented volume gets.</summary>
/// <param name="Path">Names from the root, '/' between them; folders on the way are made by themselves.</param>
/// <param name="Content">Its bytes.</param>
/// <param name="Modified">When it was last changed, UTC, in whole two seconds.</param>
/// <param name="Pieces">In how many places it lies; 1 for a file in one row, which then needs no allocation table.</param>
public sealed record InventedFile(string Path, byte[] Content, DateTime Modified, int Pieces = 1);

/// <summary>Writes an exFAT volume from scratch, with files lying where an invented patient wants them: in one row or torn apart.</summary>
/// <remarks>
/// Layout and checksums: Microsoft, exFAT file system specification, sections 3 to 7. 'fsck.exfat -n' finds such a volume clean.
/// It is made for rehearsals: no file is ever changed, one allocation table, 512-byte sectors.
/// </remarks>
public sealed class ExFatImage
{
    private const int SectorBytes = 512, FatOffsetSectors = 128, EntryBytes = 32;
    private const uint EndOfChain = 0xFFFFFFFF, FirstCluster = 2;

    private readonly long _sectors, _heapSector;
    private readonly uint _clusters, _fatSectors;
    private readonly int _clusterBytes;
    private readonly uint[] _fat;
    private readonly bool[] _used;
    private readonly Dictionary<uint, byte[]> _written = [];

    private ExFatImage(long sectors, int clusterBytes)
    {
        _sectors = sectors;
        _clusterBytes = clusterBytes;
        int perCluster = clusterBytes / SectorBytes;
        _fatSectors = (uint)((((sectors / perCluster) + 2) * 4 / SectorBytes) + 1);
        _heapSector = (FatOffsetSectors + _fatSectors + perCluster - 1) / perCluster * perCluster;
        _clusters = (uint)((sectors - _heapSector) / perCluster);
        _fat = new uint[_clusters + FirstCluster];
        _used = new bool[_clusters + FirstCluster];
    }

    /// <summary>Writes the volume into a stream at its present position.</summary>
    /// <param name="output">Where to; must be able to seek.</param>
    /// <param name="bytes">Size of the volume; a multiple of 512, at least 1 MiB.</param>
    /// <param name="clusterBytes">Size of a cluster: a power of two from 512 to 32 MiB.</param>
    /// <param name="label">Label, at most 11 characters.</param>
    /// <param name="files">What lies on it.</param>
    /// <exception cref="InvalidOperationException">The files don't fit.</exception>
    public static void Write(Stream output, long bytes, int clusterBytes, string label, IReadOnlyList<InventedFile> files)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(bytes, 1 << 20);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(label.Length, 11);
        new ExFatImage(bytes / SectorBytes, clusterBytes).WriteAll(output, label, files);
    }

    private void WriteAll(Stream output, string label, IReadOnlyList<InventedFile> files)
    {
        long start = output.Position;
        uint[] bitmap = Take(Clusters(((int)_clusters + 7) / 8), pieces: 1);
        byte[] upCase = ExFatStructures.UpCaseTable();
        uint[] table = Put(upCase, pieces: 1);
        Chain(bitmap);
        Chain(table);

        var root = new InventedFolder();
        foreach (InventedFile file in files)
            root.Add(file.Path.Split('/'), file, Put(file.Content, file.Pieces));
        byte[] head = [.. ExFatStructures.LabelEntry(label), .. ExFatStructures.BitmapEntry(bitmap[0], _clusters), .. ExFatStructures.UpCaseEntry(table[0], upCase)];
        uint[] rootClusters = PutFolder(root, head);

        PutBitmap(bitmap);
        WriteBootRegions(output, start, rootClusters[0]);
        WriteFat(output, start);
        foreach ((uint cluster, byte[] content) in _written)
            WriteAt(output, start + (_heapSector * SectorBytes) + ((cluster - FirstCluster) * (long)_clusterBytes), content);
        output.Position = start + (_sectors * SectorBytes);
    }

    private uint[] PutFolder(InventedFolder folder, byte[] head)
    {
        var entries = new List<byte>(head);
        foreach ((string name, InventedFolder child) in folder.Folders)
        {
            uint[] clusters = PutFolder(child, []);
            entries.AddRange(EntrySet.Of(name, isFolder: true, clusters[0], clusters.Length * (long)_clusterBytes, hasChain: true, InventedFolder.Made));
        }

        foreach ((string name, InventedFile file, uint[] clusters) in folder.Files)
            entries.AddRange(EntrySet.Of(name, isFolder: false, clusters.Length == 0 ? 0 : clusters[0], file.Content.Length, file.Pieces > 1, file.Modified));
        uint[] place = Put([.. entries, .. new byte[EntryBytes]], pieces: 1);
        Chain(place);
        return place;
    }

    private uint[] Put(byte[] content, int pieces)
    {
        uint[] clusters = Take(Clusters(content.Length), pieces);
        for (int i = 0; i < clusters.Length; i++)
        {
            byte[] cluster = new byte[_clusterBytes];
            content.AsSpan(i * _clusterBytes, Math.Min(_clusterBytes, content.Length - (i * _clusterBytes))).CopyTo(cluster);
            _written[clusters[i]] = cluster;
        }

        if (pieces > 1)
            Chain(clusters);
        return clusters;
    }

    // Pieces lie apart by a gap as long as a piece; later files fill the gaps, so everything ends up interleaved.
    private uint[] Take(int count, int pieces)
    {
        var taken = new List<uint>();
        uint at = FirstCluster;
        int each = Math.Max(1, (count + pieces - 1) / pieces);
        while (taken.Count < count)
        {
            int want = Math.Min(each, count - taken.Count);
            at = FirstFree(at, pieces == 1 ? count : want);
            for (int i = 0; i < want; i++, at++)
            {
                _used[at] = true;
                taken.Add(at);
            }

            at += pieces > 1 ? (uint)each : 0;
        }

        return [.. taken];
    }

    private uint FirstFree(uint from, int count)
    {
        int run = 0;
        for (uint at = from; at < _used.Length; at++)
        {
            run = _used[at] ? 0 : run + 1;
            if (run == count)
                return at - (uint)count + 1;
        }

        throw new InvalidOperationException($"no {count} clusters in a row are free: the volume is too small for its files");
    }

    private void Chain(uint[] clusters)
    {
        for (int i = 0; i < clusters.Length; i++)
            _fat[clusters[i]] = i + 1 < clusters.Length ? clusters[i + 1] : EndOfChain;
    }

    private int Clusters(int bytes) => (bytes + _clusterBytes - 1) / _clusterBytes;

    private void PutBitmap(uint[] place)
    {
        byte[] bits = new byte[place.Length * _clusterBytes];
        for (uint cluster = FirstCluster; cluster < _used.Length; cluster++)
        {
            if (_used[cluster])
                bits[(cluster - FirstCluster) / 8] |= (byte)(1 << (int)((cluster - FirstCluster) % 8));
        }

        for (int i = 0; i < place.Length; i++)
            _written[place[i]] = bits.AsSpan(i * _clusterBytes, _clusterBytes).ToArray();
    }

    private void WriteBootRegions(Stream output, long start, uint root)
    {
        byte[] region = ExFatStructures.BootRegion(start / SectorBytes, _sectors, _clusterBytes / SectorBytes, FatOffsetSectors, _fatSectors, (uint)_heapSector, _clusters, root);
        WriteAt(output, start, region);
        WriteAt(output, start + region.Length, region);
    }

    private void WriteFat(Stream output, long start)
    {
        _fat[0] = 0xFFFFFFF8;
        _fat[1] = EndOfChain;
        byte[] bytes = new byte[_fat.Length * 4];
        for (int i = 0; i < _fat.Length; i++)
            BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(i * 4), _fat[i]);
        WriteAt(output, start + (FatOffsetSectors * SectorBytes), bytes);
    }

    private static void WriteAt(Stream output, long offset, byte[] bytes)
    {
        output.Position = offset;
        output.Write(bytes);
    }
}
