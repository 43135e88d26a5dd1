using System.Buffers.Binary;

namespace Turnstone.Volumes.Ntfs;

/// <summary>The volume's own list of clusters in use ($Bitmap), read in pages as it is asked.</summary>
/// <param name="layout">The volume.</param>
/// <param name="bits">The bitmap's content with places of the volume, or null where its record is not held.</param>
internal sealed class AllocationBitmap(NtfsLayout layout, StoredContent? bits)
{
    /// <summary>Number of its record.</summary>
    public const long RecordNumber = 6;

    private const int PageBytes = 32 << 10, PagesMax = 64;
    private const long PageClusters = PageBytes * 8L;

    private readonly Dictionary<long, (byte[] Bits, Strides Held)> _pages = [];

    /// <summary>Whether the cluster is in use.</summary>
    public Usage At(long cluster)
    {
        if (bits is null || cluster < 0 || cluster >= Math.Min(layout.Boot.Clusters, bits.Length * 8))
            return Usage.Unknown;
        (byte[] page, Strides held) = Page(cluster / PageClusters);
        int bit = (int)(cluster % PageClusters);
        if (!held.Cover(bit / 8, 1))
            return Usage.Unknown;
        return (page[bit / 8] >> (bit % 8) & 1) == 0 ? Usage.Free : Usage.Used;
    }

    /// <summary>Clusters in a row that are alike, in ascending order.</summary>
    public IEnumerable<(long Count, Usage Usage)> Split(long cluster, long count)
    {
        for (long end = cluster + count; cluster < end;)
        {
            Usage usage = At(cluster);
            long next = cluster;
            do
                next = SameUntil(next, end, usage);
            while (next < end && At(next) == usage);
            yield return (next - cluster, usage);
            cluster = next;
        }
    }

    /// <summary>The runs with every cluster that is in use now made unknown: what a deleted file no longer has.</summary>
    /// <param name="runs">Runs of a deleted file.</param>
    /// <param name="taken">Clusters that are in use.</param>
    /// <param name="untold">Clusters of which the bitmap's part is not held.</param>
    public IReadOnlyList<Run> Withdraw(IReadOnlyList<Run> runs, out long taken, out long untold)
    {
        taken = untold = 0;
        var left = new List<Run>(runs.Count);
        foreach (Run run in runs)
        {
            if (!run.IsStored)
            {
                left.Add(run);
                continue;
            }

            long at = run.Cluster;
            foreach ((long count, Usage usage) in Split(run.Cluster, run.Count))
            {
                left.Add(new Run(count, usage == Usage.Used ? Run.Unknown : at));
                taken += usage == Usage.Used ? count : 0;
                untold += usage == Usage.Unknown ? count : 0;
                at += count;
            }
        }

        return left;
    }

    // One step inside one page: a whole word where all its bits are alike, else one bit.
    private long SameUntil(long cluster, long end, Usage usage)
    {
        if (usage == Usage.Unknown)
            return UnknownUntil(cluster, end);
        (byte[] page, _) = Page(cluster / PageClusters);
        ulong alike = usage == Usage.Used ? ulong.MaxValue : 0;
        int bit = (int)(cluster % PageClusters), last = (int)Math.Min(PageClusters, bit + (end - cluster));
        int start = bit++;
        while (bit < last && bit % (Strides.Bytes * 8) != 0)
        {
            if (bit % 64 == 0 && bit + 64 <= last && BinaryPrimitives.ReadUInt64LittleEndian(page.AsSpan(bit / 8)) == alike)
                bit += 64;
            else if ((page[bit / 8] >> (bit % 8) & 1) == (int)(alike & 1))
                bit++;
            else
                break;
        }

        return cluster + bit - start;
    }

    private long UnknownUntil(long cluster, long end)
    {
        if (bits is null || cluster >= Math.Min(layout.Boot.Clusters, bits.Length * 8))
            return end;
        return Math.Min(end, (cluster / (Strides.Bytes * 8) + 1) * (Strides.Bytes * 8));
    }

    private (byte[] Bits, Strides Held) Page(long index)
    {
        if (_pages.TryGetValue(index, out (byte[] Bits, Strides Held) page))
            return page;
        if (_pages.Count >= PagesMax)
            _pages.Clear();
        return _pages[index] = Load(index * PageBytes);
    }

    private (byte[] Bits, Strides Held) Load(long offset)
    {
        var page = new byte[PageBytes];
        int length = (int)Math.Min(PageBytes, bits!.Length - offset);
        Strides held = Strides.Read(bits, layout.Part, offset, page.AsSpan(0, length));
        return (page, held);
    }
}
