using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>One volume of an APFS container.</summary>
/// <remarks>Each call looks anew at the container from its superblock on; only what a search found is remembered.</remarks>
/// <param name="container">What it lies in.</param>
/// <param name="oid">Its identifier; 0 for a container that lists no volume.</param>
/// <param name="name">Its name on the disk.</param>
internal sealed class ApfsVolume(Container container, ulong oid, string name) : Volume
{
    private volatile VolumeFacts? _facts;

    /// <inheritdoc/>
    public override VolumeFacts Facts => _facts ?? LookAtFacts();

    /// <inheritdoc/>
    public override bool IsReadable => oid != 0 && Facts.Kind != ApfsFacts.EncryptedKind;

    /// <inheritdoc/>
    public override IEnumerable<Entry> Entries()
    {
        if (oid == 0)
            yield break;
        VolumeState volume = VolumeState.Search(ContainerState.Look(container), oid);
        if (volume.Superblock is { IsEncrypted: true })
            yield break;
        var builder = new FileTreeBuilder(volume.Container.Blocks, new NodeFinder(volume.Container.Blocks, volume.Map, volume.Strays()), volume.HasHashedNames);
        FileTree tree = builder.Build(volume.Superblock?.RootOid ?? 0);
        var listing = new Listing(tree, volume.Container.Blocks, volume.Trust);
        foreach (Entry entry in listing.Entries())
            yield return entry;
        IEnumerable<EarlierState> earlier = new EarlierStates(volume, builder.UsedAddresses).All(searchToo: tree.HasGaps || !volume.Map.IsComplete);
        foreach (Entry entry in new Leftovers(volume, tree, listing).Entries(earlier))
            yield return entry;
    }

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Skeleton()
    {
        ContainerState state = ContainerState.Look(container);
        return ApfsSkeleton.Of(state, oid == 0 ? null : VolumeState.Look(state, oid));
    }

    /// <summary>What is in use in the whole container: its volumes share the blocks.</summary>
    public override IEnumerable<UsageRun> Usage() => ContainerState.Look(container).Space.Runs();

    internal override IEnumerable<VolumeCheck> Checks()
    {
        ContainerState state = ContainerState.Look(container);
        yield return new VolumeCheck("the newest superblock lies in the checkpoint area", state.Current.Trust.Origin == Origin.Copy ? null : true);
        yield return new VolumeCheck("the container's object map lies where the superblock says", Fits(state.Blocks.Read(state.Current.Superblock.ObjectMapAddress), ObjectKind.ObjectMap));
        if (oid == 0)
            yield break;
        bool isListed = state.Map.TryFind(oid, out Mapping place);
        yield return new VolumeCheck("the volume's superblock lies where the object map says",
            isListed ? Fits(state.Blocks.Read(place.Address), ObjectKind.VolumeSuperblock) : state.Map.Lacks(oid) ? false : null);
        if (VolumeState.Look(state, oid).Superblock is { } superblock)
            yield return new VolumeCheck("the volume's object map lies where its superblock says", Fits(state.Blocks.Read(superblock.ObjectMapAddress), ObjectKind.ObjectMap));
    }

    private static bool? Fits(Parsed<ApfsObject> read, ObjectKind kind) =>
        read.Match<bool?>(value: found => found.Header.Kind == kind, damaged: _ => false, notHeld: () => null);

    private VolumeFacts LookAtFacts()
    {
        ContainerState state = ContainerState.Look(container);
        VolumeState? volume = oid == 0 ? null : VolumeState.Look(state, oid);
        VolumeFacts facts = ApfsFacts.Of(state, volume, name);
        // What is known of the superblock does not change; what is not known yet is looked for again.
        if (volume?.Superblock is not null)
            _facts = facts;
        return facts;
    }
}
