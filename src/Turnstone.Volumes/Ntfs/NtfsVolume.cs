using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>An NTFS volume.</summary>
/// <param name="layout">Where it lies, and its sizes.</param>
/// <param name="name">Its short name.</param>
/// <param name="origin">Whether its first boot sector or the copy at its end was read.</param>
/// <param name="notes">What was seen when it was opened.</param>
internal sealed class NtfsVolume(NtfsLayout layout, string name, Origin origin, IReadOnlyList<string> notes) : Volume
{
    private const long VolumeRecord = 3;
    private const int VersionMajorAt = 8, VersionMinorAt = 9, VersionFlagsAt = 10, DirtyFlag = 1;

    private VolumeFacts? _settled;

    /// <inheritdoc/>
    public override VolumeFacts Facts => _settled ?? ReadFacts();

    /// <inheritdoc/>
    public override IEnumerable<Entry> Entries()
    {
        // Nothing is read before the first entry is asked for, and each enumeration looks anew.
        foreach (Entry entry in new NtfsEntries(layout).All())
            yield return entry;
    }

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Skeleton() => new NtfsSkeleton(layout).Ranges();

    /// <inheritdoc/>
    public override IEnumerable<UsageRun> Usage()
    {
        MasterFileTable table = new MftLoader(layout).Load(search: false);
        long at = 0;
        foreach ((long count, Usage usage) in Bitmap(layout, table).Split(0, layout.Boot.Clusters))
        {
            var place = new ByteRange(at * layout.Boot.ClusterBytes, count * layout.Boot.ClusterBytes);
            at += count;
            if (usage != Turnstone.Volumes.Usage.Unknown)
                yield return new UsageRun(layout.OnSource(place), usage);
        }

        yield return new UsageRun(layout.OnSource(new ByteRange(layout.Boot.CopyOffset, layout.Boot.SectorBytes)), Turnstone.Volumes.Usage.Used);
    }

    /// <summary>The volume's bitmap of clusters in use.</summary>
    internal static AllocationBitmap Bitmap(NtfsLayout layout, MasterFileTable table)
    {
        AttributeFacts? data = new RecordReader(layout, table).Read(AllocationBitmap.RecordNumber).OrNone?.Find(AttributeType.Data);
        return new AllocationBitmap(layout, data is null ? null : AttributeBytes.Stored(data, layout));
    }

    private VolumeFacts ReadFacts()
    {
        var loader = new MftLoader(layout);
        MasterFileTable table = loader.Load(search: false);
        FileRecord? volume = new RecordReader(layout, table).Read(VolumeRecord).OrNone ?? FromMirror();
        var facts = new VolumeFacts
        {
            Name = name,
            Kind = "NTFS",
            Place = layout.OnSource(new ByteRange(0, layout.Boot.VolumeBytes)),
            Label = Label(volume),
            Id = layout.Boot.Serial.ToString("X16"),
            ClusterBytes = layout.Boot.ClusterBytes,
            Origin = origin,
            Certainty = origin == Origin.Table ? Certainty.Sure : Certainty.Likely,
            Notes = [.. notes, .. loader.Notes, .. Notes(table, volume)],
        };

        // What is held never shrinks, so with all of it told the answer cannot change any more.
        if (volume is { IsCutShort: false } && table.IsWhole && loader.Notes.Count == 0)
            _settled = facts;
        return facts;
    }

    private FileRecord? FromMirror()
    {
        var mirror = new MasterFileTable(layout.Part, [Extent.At(layout.Boot.MirrorOffset, (long)layout.Boot.MirrorRecords * layout.Boot.RecordBytes)], layout.Boot.RecordBytes, []);
        return new RecordReader(layout, mirror).Read(VolumeRecord).OrNone;
    }

    private static string? Label(FileRecord? volume) =>
        volume?.Find(AttributeType.VolumeName) is { Value: { Length: > 0 } label, ValueHoles.Count: 0 } ? Utf16.Of(label.AsSpan(0, label.Length & ~1)) : null;

    private static IEnumerable<string> Notes(MasterFileTable table, FileRecord? volume)
    {
        if (!table.IsWhole)
            yield return "$MFT: where all of it lies is not known; listing searches the volume for its records";
        if (volume?.Find(AttributeType.VolumeInformation) is not { Value: { Length: > VersionFlagsAt } told, ValueHoles.Count: 0 })
            yield break;
        yield return $"NTFS version {told[VersionMajorAt]}.{told[VersionMinorAt]}";
        if ((told[VersionFlagsAt] & DirtyFlag) != 0)
            yield return "marked as not cleanly closed: the last changes may be half written";
    }
}
