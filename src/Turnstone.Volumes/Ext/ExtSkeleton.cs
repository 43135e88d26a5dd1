using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>Where the metadata of a volume lies, most telling first.</summary>
internal sealed class ExtSkeleton(ExtLook look)
{
    private readonly ExtSuperblock _super = look.Super;

    /// <summary>All of it that lies on the source.</summary>
    public IEnumerable<ByteRange> Places() => Claimed().Select(place => place.Intersect(look.Blocks.Part.Part)).Where(place => !place.IsEmpty);

    private IEnumerable<ByteRange> Claimed()
    {
        yield return new ByteRange(look.Blocks.Part.Part.Offset + ExtSuperblock.Place, ExtSuperblock.Size);
        foreach (ByteRange place in Descriptors(copies: false))
            yield return place;
        foreach (ByteRange place in Bitmaps().Concat(Tables()).Concat(Maps()))
            yield return place;
        foreach (long group in _super.CopyGroups())
            yield return look.Blocks.Place(_super.FirstBlock(group), 1);
        foreach (ByteRange place in Descriptors(copies: true))
            yield return place;
        foreach (Extent extent in look.JournalExtents.Where(extent => extent.Kind == ExtentKind.Stored))
            yield return extent.Place;
    }

    private IEnumerable<ByteRange> Descriptors(bool copies)
    {
        long perBlock = _super.DescriptorsPerBlock, count = (look.Groups.Count + perBlock - 1) / perBlock;
        for (long index = 0; index < count; index++)
        {
            IEnumerable<long> places = _super.DescriptorPlaces(index);
            foreach (long place in copies ? places.Skip(1) : places.Take(1))
                yield return look.Blocks.Place(place, 1);
        }
    }

    private IEnumerable<ByteRange> Bitmaps()
    {
        for (long group = 0; group < look.Groups.Count; group++)
        {
            foreach (ExtGroup found in Find(group))
            {
                yield return look.Blocks.Place(found.InodeBitmap, 1);
                yield return look.Blocks.Place(found.BlockBitmap, 1);
            }
        }
    }

    /// <summary>The parts of the inode tables that may ever have been used.</summary>
    private IEnumerable<ByteRange> Tables()
    {
        for (long group = 0; group < look.Groups.Count; group++)
        {
            foreach (ExtGroup found in Find(group).Where(found => !found.IsInodeTableBlank && found.InodesUsed > 0))
            {
                long blocks = (((long)found.InodesUsed * _super.InodeSize) + _super.BlockSize - 1) / _super.BlockSize;
                yield return look.Blocks.Place(found.InodeTable, blocks);
            }
        }
    }

    /// <summary>Blocks of folders, and the blocks that say where files lie.</summary>
    private IEnumerable<ByteRange> Maps()
    {
        var tables = new SparseBits();
        for (long group = 0; group < look.Groups.Count; group++)
        {
            if (look.Groups.Find(group) is not { } found || !tables.Add(found.InodeTable))
                continue;
            foreach (uint number in look.Inodes.NumbersOf(group, found))
            {
                InodeRead read = look.Inodes.Read(number);
                bool maps = read.IsHeld && (read.Inode.IsLive || (read.Inode.IsDeleted && read.Inode.Size(_super) > 0));
                foreach (ByteRange place in maps ? MapOf(read.Inode) : [])
                    yield return place;
            }
        }
    }

    private IEnumerable<ByteRange> MapOf(ExtInode inode)
    {
        if (inode.Kind is EntryKind.Other || inode.Flags.HasFlag(InodeFlags.InlineData) || (inode.Kind == EntryKind.Link && inode.Size(_super) < ExtInode.MapSize))
            return [];
        var visited = new List<long>();
        FileMap map = (inode.IsLive ? look.Map : look.RemovedMap).Read(MapRoot.Of(inode, _super), visited: visited, inPlace: true);
        IEnumerable<ByteRange> own = visited.Select(block => look.Blocks.Place(block, 1));
        return inode.Kind == EntryKind.Folder ? own.Concat(map.Extents.Where(e => e.Kind == ExtentKind.Stored).Select(e => e.Place)) : own;
    }

    /// <summary>What is known of a group, or where mkfs usually puts its tables.</summary>
    private IEnumerable<ExtGroup> Find(long group) => look.Groups.Find(group) is { } found ? [found] : look.Groups.Usual(group);
}
