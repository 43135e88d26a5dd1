namespace Turnstone.Volumes.Ntfs;

/// <summary>Clusters in a row of one attribute.</summary>
/// <param name="Count">How many.</param>
/// <param name="Cluster">First cluster on the volume; <see cref="Sparse"/> or <see cref="Unknown"/> where there is none.</param>
internal readonly record struct Run(long Count, long Cluster)
{
    /// <summary>Stands for clusters that are not stored and read as zeros.</summary>
    public const long Sparse = -1;

    /// <summary>Stands for clusters whose place is not known.</summary>
    public const long Unknown = -2;

    public bool IsStored => Cluster >= 0;
}

/// <summary>The runs of one attribute, or of one part of it: pairs of a length and a step from the last place.</summary>
/// <remarks>
/// Not a <see cref="Parsed{T}"/>: a list that goes wrong in the middle is still right before that.
/// Coding as in the Linux kernel 6.1, fs/ntfs3/run.c, run_unpack.
/// </remarks>
/// <param name="Runs">All clusters from the first on; those after the list went wrong are one unknown run.</param>
/// <param name="Trouble">Why some are unknown, or null.</param>
internal sealed record RunList(IReadOnlyList<Run> Runs, string? Trouble)
{
    /// <summary>Decodes as long as it makes sense.</summary>
    /// <param name="bytes">The list, as far as it is held.</param>
    /// <param name="expected">Clusters that the attribute says it has; runs past them are cut.</param>
    /// <param name="volumeClusters">Clusters of the volume; a run out of it ends the list.</param>
    public static RunList Read(ReadOnlySpan<byte> bytes, long expected, long volumeClusters)
    {
        var runs = new List<Run>(Math.Min(bytes.Length / 3, 16));
        long covered = 0, cluster = 0;
        string? trouble = null;
        while (covered < expected && trouble is null)
        {
            trouble = Next(ref bytes, ref cluster, volumeClusters, out Run run);
            if (trouble is not null)
                run = new Run(expected - covered, Run.Unknown);
            runs.Add(run with { Count = Math.Min(run.Count, expected - covered) });
            covered += runs[^1].Count;
        }

        return new RunList(runs, trouble);
    }

    private static string? Next(ref ReadOnlySpan<byte> bytes, ref long cluster, long volumeClusters, out Run run)
    {
        run = default;
        if (bytes.IsEmpty)
            return "run list is not wholly held";
        int countBytes = bytes[0] & 0xF, stepBytes = bytes[0] >> 4;
        if (countBytes is 0 or > 8 || stepBytes > 8)
            return bytes[0] == 0 ? "run list ends too early" : $"run list holds the code {bytes[0]:x2}";
        if (bytes.Length < 1 + countBytes + stepBytes)
            return "run list is not wholly held";

        long count = Signed(bytes.Slice(1, countBytes));
        cluster = unchecked(cluster + Signed(bytes.Slice(1 + countBytes, stepBytes)));
        if (count <= 0 || (stepBytes > 0 && (cluster < 0 || cluster >= volumeClusters || count > volumeClusters - cluster)))
            return $"run of {count} clusters at {cluster} leaves the volume";
        run = new Run(count, stepBytes == 0 ? Run.Sparse : cluster);
        bytes = bytes[(1 + countBytes + stepBytes)..];
        return null;
    }

    private static long Signed(ReadOnlySpan<byte> bytes)
    {
        if (bytes.IsEmpty)
            return 0;
        long value = (sbyte)bytes[^1];
        for (int i = bytes.Length - 2; i >= 0; i--)
            value = (value << 8) | bytes[i];
        return value;
    }
}
