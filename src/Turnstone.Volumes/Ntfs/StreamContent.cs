using System.Text;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Content of one stream, how sure it is, and what is to be said of it.</summary>
internal readonly record struct ToldContent(FileContent Content, Certainty Certainty, string? Note);

/// <summary>Turns what a record says of a stream into its content.</summary>
/// <param name="layout">The volume.</param>
/// <param name="bitmap">Which clusters are in use now.</param>
internal sealed class StreamContent(NtfsLayout layout, AllocationBitmap bitmap)
{
    // 16 clusters of at most 4 KiB each (common practice, no source); some room for what other writers do.
    private const int UnitBytesMax = 1 << 20;

    private static readonly ResidentContent Empty = new(ReadOnlyMemory<byte>.Empty);

    /// <summary>The stream's content.</summary>
    /// <param name="file">Its file.</param>
    /// <param name="stream">The stream, or null where the record has none.</param>
    /// <param name="nameSize">What the name says of the size, for when nothing better is held.</param>
    public ToldContent Of(FileRecord file, AttributeFacts? stream, long nameSize)
    {
        if (stream is null && !file.IsCutShort)
            return new ToldContent(Empty, Certainty.Sure, Note: null);
        if (stream?.Size is null)
            return new ToldContent(new UnreadableContent(nameSize, "the part of its record that tells where its bytes lie is not held or damaged"), Certainty.Likely, stream?.Trouble);
        Certainty certainty = stream.Trouble is null ? Certainty.Sure : Certainty.Likely;
        if (stream.Value is { } value)
            return new ToldContent(stream.ValueHoles.Count == 0 ? new ResidentContent(value) : new PartlyHeldContent(value, stream.ValueHoles), certainty, stream.Trouble);
        return file.Header.IsInUse ? Live(stream, certainty) : GivenUp(stream);
    }

    /// <summary>Bytes of a link: the path that it leads to, in UTF-8.</summary>
    public static FileContent Link(string target) => new ResidentContent(Encoding.UTF8.GetBytes(target));

    private ToldContent Live(AttributeFacts stream, Certainty certainty)
    {
        IReadOnlyList<Run> runs = stream.Runs();
        string? note = stream.Trouble;
        for (int i = 0; i < runs.Count; i++)
        {
            Run run = runs[i];
            if (!run.IsStored || (bitmap.At(run.Cluster) != Usage.Free && bitmap.At(run.Cluster + run.Count - 1) != Usage.Free))
                continue;
            certainty = Certainty.Likely;
            note = "some of its clusters are marked as free in $Bitmap";
        }

        return new ToldContent(Stored(stream, runs), certainty, note);
    }

    // Nothing tells whether a free cluster was written by another file in between.
    private ToldContent GivenUp(AttributeFacts stream)
    {
        IReadOnlyList<Run> runs = bitmap.Withdraw(stream.Runs(), out long taken, out long untold);
        string note = taken > 0 ? $"deleted; {taken} of its clusters are in use by something else now"
            : untold > 0 ? $"deleted; whether {untold} of its clusters are still free is not held"
            : "deleted; its clusters are free, and may have been used in between";
        return new ToldContent(Stored(stream, runs), Certainty.Guessed, note);
    }

    private FileContent Stored(AttributeFacts stream, IReadOnlyList<Run> runs)
    {
        int clusterBytes = layout.Boot.ClusterBytes;
        long size = stream.Size!.Value;
        if ((stream.Flags & AttributeFacts.EncryptedFlag) != 0)
            return new UnreadableContent(size, "encrypted by the file system (EFS): the key of the Windows account that wrote it is needed", Places(runs));
        if (stream.UnitShift == 0)
            return new StoredContent(RunExtents.Of(runs, clusterBytes, layout.Base, size, stream.ValidSize));
        return (clusterBytes << stream.UnitShift) > UnitBytesMax
            ? new UnreadableContent(size, $"compressed in units of {1 << stream.UnitShift} clusters of {clusterBytes} bytes, which NTFS does not do", Places(runs))
            : new CompressedContent(runs, clusterBytes, 1 << stream.UnitShift, layout.Base, size, stream.ValidSize);
    }

    /// <summary>Where the stored form of runs lies.</summary>
    public IReadOnlyList<Extent> Places(IReadOnlyList<Run> runs) => [.. runs.Select(run => RunExtents.Of(run, layout.Boot.ClusterBytes, layout.Base))];
}
