using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Finds the file table: by its own record, by the copy of that record, and by searching for what neither tells.</summary>
/// <param name="layout">The volume.</param>
internal sealed class MftLoader(NtfsLayout layout)
{
    // A table of 64 parts is far beyond what is met; each round finds at least one more part or is the last.
    private const int RoundsMax = 64;

    private const int FixedRecords = 16;

    private readonly List<string> _notes = [];

    /// <summary>What was found wrong on the way.</summary>
    public IReadOnlyList<string> Notes => _notes;

    /// <summary>The table as far as it can be known.</summary>
    /// <param name="search">Whether to search the whole volume for what the table's own record does not tell; takes a read of all that is held.</param>
    public MasterFileTable Load(bool search)
    {
        IReadOnlyList<Extent>? told = Better(Told(layout.Boot.MftOffset), Told(layout.Boot.MirrorOffset));
        MasterFileTable? table = told is null ? null : new MasterFileTable(layout.Part, told, layout.Boot.RecordBytes, []);
        if (table is { IsWhole: true })
            return table;
        return search ? FoundTable.Fill(layout, table) : table ?? Start();
    }

    // Without its own record, the fixed records at the table's start are all that has a known place.
    private MasterFileTable Start()
    {
        long length = Math.Min(FixedRecords * (long)layout.Boot.RecordBytes, layout.Boot.VolumeBytes - layout.Boot.MftOffset);
        return new MasterFileTable(layout.Part, [Extent.At(layout.Boot.MftOffset, length)], layout.Boot.RecordBytes, []);
    }

    private IReadOnlyList<Extent>? Better(IReadOnlyList<Extent>? own, IReadOnlyList<Extent>? copied)
    {
        if (own is null && copied is not null)
            _notes.Add("$MFT: its own record cannot be read, the copy in $MFTMirr is used");
        if (own is null || copied is null || own.SequenceEqual(copied))
            return own ?? copied;
        _notes.Add("$MFT: its own record and the copy in $MFTMirr tell different places");
        return Score(copied) > Score(own) ? copied : own;
    }

    // Each part of the table must start with a record that knows its own number; one that is not held speaks neither for nor against.
    private int Score(IReadOnlyList<Extent> extents)
    {
        int score = 0, recordBytes = layout.Boot.RecordBytes;
        var record = new byte[recordBytes];
        long at = 0;
        foreach (Extent extent in extents)
        {
            long number = (at + recordBytes - 1) / recordBytes, skip = (number * recordBytes) - at;
            at += extent.Length;
            if (extent.Kind != ExtentKind.Stored || skip + recordBytes > extent.Length || !layout.Part.TryRead(extent.Offset + skip, record))
                continue;
            score += RecordHeader.Read(record, Strides.AllGood, number) is Parsed<RecordHeader>.Value ? 1 : -1;
        }

        return score;
    }

    /// <summary>Where the record 0 at that place says that the table lies; null where it is not held or no such record.</summary>
    private IReadOnlyList<Extent>? Told(long place)
    {
        int recordBytes = layout.Boot.RecordBytes;
        IReadOnlyList<Extent> known = [Extent.At(place, recordBytes)];
        for (int round = 0; round < RoundsMax; round++)
        {
            IReadOnlyList<Extent>? next = Round(place, known);
            if (next is null || next.SequenceEqual(known))
                return next;
            known = next;
        }

        return known;
    }

    private IReadOnlyList<Extent>? Round(long place, IReadOnlyList<Extent> known)
    {
        var record = new byte[layout.Boot.RecordBytes];
        var at = new MasterFileTable(layout.Part, [Extent.At(place, record.Length)], record.Length, []);
        if (!at.TryRead(0, record, out Strides held))
            return null;
        var reader = new RecordReader(layout, new MasterFileTable(layout.Part, known, record.Length, []));
        if (reader.Read(record, held, 0).OrNone is not { Header.IsInUse: true } file)
            return null;
        if (file.Find(AttributeType.Data) is not { Value: null, Size: not null } data || data.ValidSize < record.Length)
            return null;
        IReadOnlyList<Run> runs = data.Runs();
        if (runs.Count == 0 || runs[0].Cluster != layout.Boot.MftCluster)
            return null;
        long size = data.ValidSize / record.Length * record.Length;
        return [.. RunExtents.Of(runs, layout.Boot.ClusterBytes, volumeStart: 0, size, size).Select(extent => extent.Kind == ExtentKind.Zeros ? Extent.Unknown(extent.Length) : extent)];
    }
}
