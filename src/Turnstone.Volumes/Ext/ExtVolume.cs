using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>An ext2, ext3 or ext4 volume.</summary>
internal sealed class ExtVolume : Volume
{
    private const uint RootInode = 2;

    private readonly PartView _part;
    private readonly ExtSuperblock _opened;
    private readonly string _name;
    private readonly Certainty _certainty;

    /// <summary>Takes a superblock that was found.</summary>
    /// <param name="part">Where the volume lies.</param>
    /// <param name="super">The superblock, or a copy of it.</param>
    /// <param name="name">Its name in lists.</param>
    /// <param name="certainty">How sure it is that there is such a volume.</param>
    public ExtVolume(PartView part, ExtSuperblock super, string name, Certainty certainty)
    {
        _part = part;
        _opened = super;
        _name = name;
        _certainty = certainty;
    }

    /// <inheritdoc/>
    public override VolumeFacts Facts
    {
        get
        {
            ExtSuperblock super = Current();
            return new VolumeFacts
            {
                Name = _name,
                Kind = KindOf(super),
                Place = new ByteRange(_part.Part.Offset, super.Bytes),
                Label = super.Label.Length == 0 ? null : super.Label,
                Id = super.Id.ToString(),
                ClusterBytes = super.BlockSize * super.ClusterBlocks,
                Origin = super.CopyOfGroup == 0 ? Origin.Table : Origin.Copy,
                Certainty = super.CopyOfGroup == 0 && super.SumFits ? Certainty.Sure : _certainty,
                Notes = [.. Notes(super)],
            };
        }
    }

    /// <inheritdoc/>
    public override bool IsReadable => IsUnderstood(Current());

    /// <inheritdoc/>
    public override IEnumerable<Entry> Entries()
    {
        if (!IsReadable)
            yield break;
        ExtLook look = Look();
        var entries = new ExtEntries(look);
        var walk = new ExtWalk(look, entries);
        InodeRead root = look.Inodes.Read(RootInode);
        if (root.IsHeld && root.Inode is { IsLive: true, Kind: EntryKind.Folder })
        {
            entries.Listed.Add(RootInode);
            var folder = new Folder(root.Inode, EntryPath.Root, root.Trust, RootInode, null);
            foreach (List<Entry> batch in walk.Below(folder))
            {
                foreach (Entry entry in batch)
                    yield return entry;
            }
        }

        foreach (Entry entry in new ExtLeftovers(look, entries, walk).List())
            yield return entry;
    }

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Skeleton() => IsReadable ? new ExtSkeleton(Look()).Places() : [];

    /// <inheritdoc/>
    public override IEnumerable<UsageRun> Usage() => IsReadable ? Look().Bitmaps.Runs() : [];

    private static bool IsUnderstood(ExtSuperblock super) => Unknown(super) == 0 && !super.Incompatible.HasFlag(Incompatible.JournalDevice);

    private static uint Unknown(ExtSuperblock super) =>
        (uint)super.Incompatible & ~Enum.GetValues<Incompatible>().Aggregate(0u, (all, one) => all | (uint)one);

    private static string KindOf(ExtSuperblock super)
    {
        const Incompatible Four = Incompatible.Extents | Incompatible.Bits64 | Incompatible.FlexGroups | Incompatible.InlineData | Incompatible.Encrypt;
        const ReadOnlyCompatible FourToo = ReadOnlyCompatible.HugeFile | ReadOnlyCompatible.DescriptorSums | ReadOnlyCompatible.MetadataSums
            | ReadOnlyCompatible.BigAlloc | ReadOnlyCompatible.DirLinkCount | ReadOnlyCompatible.ExtraInodeSize;
        if (super.Incompatible.HasFlag(Incompatible.JournalDevice))
            return "ext journal";
        if ((super.Incompatible & Four) != Incompatible.None || (super.ReadOnlyCompatible & FourToo) != ReadOnlyCompatible.None)
            return "ext4";
        return super.Compatible.HasFlag(Compatible.HasJournal) ? "ext3" : "ext2";
    }

    /// <summary>The superblock as it is held now: the first one as soon as it can be had, for only it is kept up to date.</summary>
    private ExtSuperblock Current()
    {
        if (_opened.CopyOfGroup == 0 && !_opened.Incompatible.HasFlag(Incompatible.Recover))
            return _opened;
        var bytes = new byte[ExtSuperblock.Size];
        bool held = _part.TryRead(ExtSuperblock.Place, bytes);
        return held && ExtSuperblock.Read(bytes).OrNone is { } first && first.Id == _opened.Id && first.SumFits && first.Layout == _opened.Layout ? first : _opened;
    }

    private ExtLook Look() => ExtLook.At(_part, Current());

    private IEnumerable<string> Notes(ExtSuperblock super)
    {
        if (Unknown(super) != 0)
            yield return $"it uses features that are not known here (bits {Unknown(super):X}): its entries are not read";
        if (super.Incompatible.HasFlag(Incompatible.JournalDevice))
            yield return "this is a journal that belongs to a file system on another device; its entries are not here";
        if (super.CopyOfGroup != 0)
            yield return $"its superblock is the copy in group {super.CopyOfGroup}; the first one is not held or damaged";
        if (!super.SumFits)
            yield return "the checksum of its superblock does not fit";
        if (super.Bytes > _part.Length)
            yield return $"it reaches {super.Bytes - _part.Length} bytes past the end of its partition or of the disk";
        if (super.Incompatible.HasFlag(Incompatible.Encrypt))
            yield return "folders on it may be encrypted: their names are shown as stored, their files need the owner's key";
        bool mayWait = super.Incompatible.HasFlag(Incompatible.Recover) || super.CopyOfGroup != 0;
        foreach (string note in mayWait && IsUnderstood(super) ? ExtLook.At(_part, super).Journal.Notes : [])
            yield return note;
    }
}
