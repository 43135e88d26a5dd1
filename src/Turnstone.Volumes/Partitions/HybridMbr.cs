using Turnstone.Media;

namespace Turnstone.Volumes.Partitions;

/// <summary>A protective MBR that lists partitions of its own beside the GUID table, for systems that know only the old one.</summary>
internal sealed class HybridMbr(ISectorView disk, int sectorBytes)
{
    /// <summary>Adds what only the MBR lists, and says where both differ.</summary>
    public PartitionList Add(PartitionList gpt, MbrSector mbr)
    {
        Partition[] own = [.. new MbrTable(disk, sectorBytes).Read(mbr).Partitions];
        if (own.Length == 0)
            return gpt;
        ByteRange[] known = [.. gpt.Partitions.Select(p => p.Place)];
        Partition[] extra = [.. own.Where(p => !known.Contains(p.Place)).Select(p => p with { Name = "mbr-" + p.Name })];
        string note = extra.Length == 0
            ? $"the MBR repeats {own.Length} of the GUID table's partitions (hybrid)"
            : $"the MBR lists {extra.Length} partitions that the GUID table does not have (hybrid): {string.Join(", ", extra.Select(p => p.Name))}";
        return gpt with { Partitions = [.. gpt.Partitions, .. extra], Notes = [.. gpt.Notes, note] };
    }
}
