using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>What is known of a volume before any entry of it is read.</summary>
public sealed record VolumeFacts
{
    /// <summary>Short name in lists and paths, unique on the disk: 'p1', 'p5', 'p2.v1', 'whole', 'at-1048576' for one found by searching.</summary>
    public required string Name { get; init; }

    /// <summary>File system in the field's own term: 'exFAT', 'FAT32', 'NTFS', 'ext4', 'HFS+', 'APFS', 'BitLocker'.</summary>
    public required string Kind { get; init; }

    /// <summary>Bytes of the source that it takes.</summary>
    public required ByteRange Place { get; init; }

    /// <summary>Label that the client gave it, or null.</summary>
    public string? Label { get; init; }

    /// <summary>Serial number or UUID as commonly written, or null.</summary>
    public string? Id { get; init; }

    /// <summary>Bytes in one cluster or block; 0 where not known.</summary>
    public int ClusterBytes { get; init; }

    /// <summary>Where its main structure was read.</summary>
    public Origin Origin { get; init; }

    /// <summary>How sure it is that there is such a volume.</summary>
    public Certainty Certainty { get; init; }

    /// <summary>What a technician should know: tables that disagree, parts that lie past the end, encryption.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];
}

/// <summary>Whether the file system says that a stretch of the volume is in use.</summary>
public enum Usage
{
    /// <summary>What tells it is not held.</summary>
    Unknown,

    /// <summary>Free.</summary>
    Free,

    /// <summary>In use: a file's, a folder's or the file system's own.</summary>
    Used,
}

/// <summary>A stretch of the source and whether it is in use.</summary>
/// <param name="Place">Bytes of the source.</param>
/// <param name="Usage">Whether they are in use.</param>
public readonly record struct UsageRun(ByteRange Place, Usage Usage);

/// <summary>A volume on the patient: what it is, its entries, where its skeleton lies, what is free.</summary>
/// <remarks>
/// Each call looks anew at what is held, so a volume may be asked again while a read goes on. Calls never throw for
/// what stands on the disk, never loop, and take time and memory in proportion to the bytes held.
/// Every place that leaves a volume is in bytes of the source.
/// </remarks>
public abstract class Volume
{
    /// <summary>What is known of it.</summary>
    public abstract VolumeFacts Facts { get; }

    /// <summary>Whether its entries can be read here; false for kinds that are only recognised.</summary>
    public virtual bool IsReadable => true;

    /// <summary>Every entry that the held bytes support, streamed, live ones and deleted ones; each once.</summary>
    public abstract IEnumerable<Entry> Entries();

    /// <summary>Where the metadata lies, most telling first, as far as the held bytes tell: ask for these before any file.</summary>
    public abstract IEnumerable<ByteRange> Skeleton();

    /// <summary>What is in use, in ascending order; stretches that are left out are unknown.</summary>
    public abstract IEnumerable<UsageRun> Usage();

    /// <summary>What should hold if this is the volume that it seems to be; the search for lost volumes weighs it.</summary>
    internal virtual IEnumerable<VolumeCheck> Checks() => [];
}

/// <summary>One structure of a volume against what the others say of it.</summary>
/// <param name="What">What was compared, for a person.</param>
/// <param name="Fits">Whether it agrees; null where it is not held.</param>
internal readonly record struct VolumeCheck(string What, bool? Fits);

/// <summary>A file system that can be recognised and read.</summary>
internal interface IVolumeFormat
{
    /// <summary>The volumes that start at the view's first byte; none where it is not this file system.</summary>
    /// <param name="part">Where a volume may lie; its length is the partition's, or to the end of the disk.</param>
    /// <param name="name">Name for <see cref="VolumeFacts.Name"/>; a container adds a suffix for each volume in it.</param>
    IReadOnlyList<Volume> Open(PartView part, string name);
}
