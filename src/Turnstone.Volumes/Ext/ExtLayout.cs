namespace Turnstone.Volumes.Ext;

/// <summary>Where mkfs puts things: arithmetic on the superblock, nothing is read.</summary>
/// <remarks>Copies, meta groups and flexible groups: Linux kernel 6.1 documentation, filesystems/ext4, 'Layout', 'Block Groups'.</remarks>
internal static class ExtLayout
{
    /// <summary>Where every group of a volume without 'sparse_super' keeps a copy, no more than this many are looked at.</summary>
    private const int CopiesLookedAt = 64;

    public static long FirstBlock(this ExtSuperblock s, long group) => s.FirstDataBlock + (group * s.BlocksPerGroup);

    /// <summary>Whether the group starts with a superblock or a copy of it.</summary>
    public static bool HasSuperblock(this ExtSuperblock s, long group)
    {
        if (group == 0)
            return true;
        if (s.Compatible.HasFlag(Compatible.SparseSuper2))
            return group == s.SparseCopies.First || group == s.SparseCopies.Second;
        if (group == 1 || !s.ReadOnlyCompatible.HasFlag(ReadOnlyCompatible.SparseSuper))
            return true;
        return IsPowerOf(group, 3) || IsPowerOf(group, 5) || IsPowerOf(group, 7);
    }

    /// <summary>Groups other than the first one that keep a copy of the superblock, in order.</summary>
    public static IEnumerable<long> CopyGroups(this ExtSuperblock s)
    {
        IEnumerable<long> groups = s.Compatible.HasFlag(Compatible.SparseSuper2)
            ? [s.SparseCopies.First, s.SparseCopies.Second]
            : s.ReadOnlyCompatible.HasFlag(ReadOnlyCompatible.SparseSuper) ? SparseGroups() : LongRange(1, CopiesLookedAt);
        return groups.Where(g => g > 0).TakeWhile(g => g < s.Groups);
    }

    /// <summary>1 and the powers of 3, 5 and 7, in order.</summary>
    public static IEnumerable<long> SparseGroups()
    {
        for (long three = 1, five = 5, seven = 7; three < uint.MaxValue;)
        {
            long next = Math.Min(three, Math.Min(five, seven));
            yield return next;
            three *= next == three ? 3 : 1;
            five *= next == five ? 5 : 1;
            seven *= next == seven ? 7 : 1;
        }
    }

    /// <summary>Blocks where one block of descriptors and its copies stand, the first one first.</summary>
    public static IEnumerable<long> DescriptorPlaces(this ExtSuperblock s, long index)
    {
        if (index < s.FirstMetaGroup)
        {
            yield return (s.BlockSize == 1024 ? 1 : 0) + 1 + index;
            foreach (long group in s.CopyGroups())
                yield return s.FirstBlock(group) + 1 + index;
            yield break;
        }

        long first = index * s.DescriptorsPerBlock;
        long shift = s.BlockSize == 1024 && s.FirstDataBlock == 0 && first == 0 ? 1 : 0;
        foreach (long group in (long[])[first, first + 1, first + s.DescriptorsPerBlock - 1])
        {
            if (group < s.Groups)
                yield return s.FirstBlock(group) + (s.HasSuperblock(group) ? 1 : 0) + (group == first ? shift : 0);
        }
    }

    /// <summary>Blocks at the group's start that hold superblock, descriptors and room for more of them.</summary>
    public static long Overhead(this ExtSuperblock s, long group)
    {
        long own = s.HasSuperblock(group) ? 1 : 0;
        if (s.BlockSize == 1024 && s.FirstDataBlock == 0 && group == 0)
            own++;
        long index = group / s.DescriptorsPerBlock;
        if (index < s.FirstMetaGroup)
            return own == 0 ? 0 : own + Math.Min(s.DescriptorBlocks, s.FirstMetaGroup) + s.ReservedDescriptorBlocks;
        long within = group % s.DescriptorsPerBlock;
        return own + (within == 0 || within == 1 || within == s.DescriptorsPerBlock - 1 ? 1 : 0);
    }

    public static long TableBlocks(this ExtSuperblock s) => (((long)s.InodesPerGroup * s.InodeSize) + s.BlockSize - 1) / s.BlockSize;

    /// <summary>Where mkfs puts a group's bitmaps and inode table when nothing stands in the way; assumptions to be confirmed, the likelier first.</summary>
    /// <remarks>Bitmaps of the groups of one flexible group stand together; seen with mke2fs 1.47: room for as many as there are groups, or for a full set.</remarks>
    public static IEnumerable<(long BlockBitmap, long InodeBitmap, long InodeTable)> UsualPlaces(this ExtSuperblock s, long group)
    {
        long leader = group - (group % s.GroupsPerFlex), within = group - leader;
        long at = s.FirstBlock(leader) + s.Overhead(leader);
        return ((long[])[Math.Min(s.GroupsPerFlex, s.Groups - leader), s.GroupsPerFlex]).Distinct()
            .Select(room => (at + within, at + room + within, at + (2 * room) + (within * s.TableBlocks())));
    }

    private static bool IsPowerOf(long number, long of)
    {
        while (number % of == 0)
            number /= of;
        return number == 1;
    }

    private static IEnumerable<long> LongRange(long from, int count)
    {
        for (long i = from; i < from + count; i++)
            yield return i;
    }
}
