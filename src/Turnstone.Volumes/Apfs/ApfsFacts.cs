using Turnstone.Media;

namespace Turnstone.Volumes.Apfs;

/// <summary>Puts into words what is known of a volume.</summary>
internal static class ApfsFacts
{
    public const string EncryptedKind = "encrypted APFS";

    private const int MostNames = 20;

    /// <summary>The facts as they stand now.</summary>
    /// <param name="state">The container.</param>
    /// <param name="volume">The volume; null for a container that lists none.</param>
    /// <param name="name">Its name on the disk.</param>
    public static VolumeFacts Of(ContainerState state, VolumeState? volume, string name)
    {
        VolumeSuperblock? superblock = volume?.Superblock;
        Trust trust = state.Current.Trust;
        return new VolumeFacts
        {
            Name = name,
            Kind = superblock is { IsEncrypted: true } ? EncryptedKind : "APFS",
            Place = state.Blocks.Count == 0 ? new ByteRange(0, 0) : state.Blocks.Place(0, state.Blocks.Count),
            Label = superblock?.Name,
            Id = (superblock?.Uuid ?? state.Current.Superblock.Uuid).ToString().ToUpperInvariant(),
            ClusterBytes = state.Blocks.BlockBytes,
            Origin = trust.Origin,
            Certainty = trust.Certainty,
            Notes = [.. Notes(state, volume)],
        };
    }

    private static IEnumerable<string> Notes(ContainerState state, VolumeState? volume)
    {
        foreach (string note in OfContainer(state))
            yield return note;
        if (volume is null)
        {
            yield return "a container that lists no volume";
            yield break;
        }

        if (volume.Superblock is null)
        {
            yield return "its superblock is not held or damaged: label, encryption and size of the tree are not known";
            yield break;
        }

        foreach (string note in OfVolume(volume.Superblock))
            yield return note;
        foreach (Snapshot snapshot in volume.Snapshots.Snapshots.OrderByDescending(s => s.Xid).Take(MostNames))
            yield return $"snapshot '{snapshot.Name}' of transaction {snapshot.Xid}";
        if (volume.Snapshots.Snapshots.Count > MostNames)
            yield return $"{volume.Snapshots.Snapshots.Count - MostNames} older snapshots";
    }

    private static IEnumerable<string> OfContainer(ContainerState state)
    {
        if (state.Current.Superblock.IsFusion)
            yield return "half of a Fusion pair: files lie on two drives, and what lies on the other one cannot be had from this one";
        if (state.Current.Trust.Certainty != Certainty.Sure)
            yield return $"a newer state than that of transaction {state.Current.Xid} may exist where the checkpoint area is not held or damaged";
        if (state.Current.Trust.Origin == Origin.Copy)
            yield return "the checkpoint's own superblock is not held or damaged; its copy in the first block was taken";
        if ((ulong)(state.Container.Ground.Part.Length / state.Blocks.BlockBytes) < state.Blocks.Count)
            yield return "the container is longer than its partition";
    }

    private static IEnumerable<string> OfVolume(VolumeSuperblock superblock)
    {
        if (superblock.IsEncrypted)
            yield return "encrypted: its files can be read only with the owner's password or recovery key";
        if (superblock.IsSealed)
            yield return "sealed system volume: it holds the operating system; where its files' bytes lie is not read";
        if (superblock.RoleName is { } role)
            yield return $"role: {role}";
        yield return superblock.IsCaseSensitive ? "names differ by case" : "names don't differ by case";
    }
}
