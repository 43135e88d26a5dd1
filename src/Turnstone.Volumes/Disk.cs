using Turnstone.Media;
using Turnstone.Volumes.Partitions;

namespace Turnstone.Volumes;

/// <summary>One part of a disk that a partition table, or its absence, gives a volume.</summary>
/// <param name="Name">'p1' and so on in the table's order, logical ones from 'p5'; 'whole' where there is no table.</param>
/// <param name="Place">Bytes of the source; may reach past its end.</param>
/// <param name="Type">What the table says it is, in words, or the bare code.</param>
/// <param name="Label">Its name in the table (GPT), or null.</param>
/// <param name="Origin">Which table said so.</param>
public sealed record Partition(string Name, ByteRange Place, string Type, string? Label, Origin Origin);

/// <summary>The partitions and volumes of a disk, as far as the held bytes show them.</summary>
/// <param name="Table">Kind of partition table in words: 'GPT', 'MBR', 'none'.</param>
/// <param name="Partitions">What the table lists.</param>
/// <param name="Volumes">Volumes in them.</param>
/// <param name="Skeleton">Where the table and its copies lie: ask for these first of all.</param>
/// <param name="Notes">What a technician should know: a table past the end, copies that disagree, a changed sector size.</param>
public sealed record Disk(string Table, IReadOnlyList<Partition> Partitions, IReadOnlyList<Volume> Volumes, IReadOnlyList<ByteRange> Skeleton, IReadOnlyList<string> Notes)
{
    /// <summary>Finds the partition table and the volumes of a disk, as far as its held bytes show them; ask again when more is held.</summary>
    /// <param name="disk">The whole patient.</param>
    public static Disk Read(ISectorView disk) => new DiskReader(disk).Read();
}
