using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>One volume as the bytes held at one moment show it.</summary>
internal sealed class VolumeState
{
    private VolumeState(ContainerState container, ulong oid, VolumeSuperblock? superblock, ObjectMap map)
    {
        (Container, Oid, Superblock, Map) = (container, oid, superblock, map);
        Snapshots = superblock is null ? SnapshotList.None : SnapshotList.Read(container.Blocks, superblock);
    }

    public ContainerState Container { get; }

    public ulong Oid { get; }

    /// <summary>Its superblock; null where it is not to be had.</summary>
    public VolumeSuperblock? Superblock { get; }

    public ObjectMap Map { get; }

    public SnapshotList Snapshots { get; }

    /// <summary>How far anything of this state is to be trusted at most.</summary>
    public Trust Trust => Container.Current.Trust with { Origin = Container.Current.Trust.Origin == Origin.Copy ? Origin.Table : Container.Current.Trust.Origin };

    /// <summary>Whether directory records carry a hash; all but the earliest volumes do.</summary>
    public bool HasHashedNames => Superblock?.HasHashedNames ?? true;

    /// <summary>The volume as the container's object map leads to it.</summary>
    public static VolumeState Look(ContainerState container, ulong oid)
    {
        VolumeSuperblock? superblock = container.Map.TryFind(oid, out Mapping mapping) ? Read(container.Blocks, mapping.Address, oid) : null;
        ObjectMap map = superblock is null ? ObjectMap.Unknown : ObjectMap.Read(container.Blocks, superblock.ObjectMapAddress, container.Current.Xid);
        return new VolumeState(container, oid, superblock, map);
    }

    /// <summary>The same, and where it leads nowhere, the newest superblock that a search finds.</summary>
    public static VolumeState Search(ContainerState container, ulong oid)
    {
        VolumeState direct = Look(container, oid);
        if (direct.Superblock is not null || container.Map.Lacks(oid))
            return direct;
        VolumeSuperblock? found = container.Container.Scan.Look()
            .Where(f => f.Header.Kind == ObjectKind.VolumeSuperblock && f.Header.Oid == oid)
            .OrderByDescending(f => f.Header.Xid).Select(f => Read(container.Blocks, f.Address, oid)).FirstOrDefault(s => s is not null);
        if (found is null)
            return direct;
        // An older superblock leads to an older object map: that one may list what is long overwritten, so it is not believed.
        bool isCurrent = found.Xid == container.Current.Xid;
        return new VolumeState(container, oid, found, isCurrent ? ObjectMap.Read(container.Blocks, found.ObjectMapAddress, found.Xid) : ObjectMap.Unknown);
    }

    /// <summary>What searching can add to the map.</summary>
    public StrayNodes Strays() => new(Container.Container.Scan, Container.Space, Snapshots.NewestXid, OthersMightKnow());

    private Func<ulong, bool> OthersMightKnow()
    {
        List<ulong> others = [.. Container.Current.Superblock.VolumeOids.Where(oid => oid != Oid)];
        if (others.Count == 0)
            return _ => false;
        var maps = new Lazy<List<ObjectMap>>(() => [.. others.Select(oid => Look(Container, oid).Map)]);
        return oid => maps.Value.Exists(map => !map.Lacks(oid));
    }

    private static VolumeSuperblock? Read(ContainerBlocks blocks, ulong address, ulong oid) =>
        blocks.Read(address).OrNone is { } found && found.Header.Oid == oid ? VolumeSuperblock.Read(found).OrNone : null;
}
