using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>Records in a row that follow each other in number, too.</summary>
/// <param name="First">Number of the first one, as it says itself.</param>
/// <param name="Count">How many.</param>
/// <param name="Place">Where the first one lies on the volume.</param>
internal readonly record struct FoundRow(long First, long Count, long Place);

/// <summary>Searches all that is held of a volume for records of the file table, for when nothing tells where the table lies.</summary>
internal static class RecordScan
{
    private const int ChunkBytes = 1 << 20;

    /// <summary>Rows of records, by their place.</summary>
    public static List<FoundRow> Find(NtfsLayout layout)
    {
        int recordBytes = layout.Boot.RecordBytes;
        var rows = new List<FoundRow>();
        var record = new byte[recordBytes];
        foreach (long place in Candidates(layout))
        {
            Strides held = Strides.Read(new StoredContent([Extent.At(place, recordBytes)]), layout.Part, 0, record);
            if (RecordHeader.Read(record, held, number: null) is not Parsed<RecordHeader>.Value { Item: var header })
                continue;
            if (rows.Count > 0 && rows[^1] is var last && last.Place + (last.Count * recordBytes) == place && last.First + last.Count == header.Number)
                rows[^1] = last with { Count = last.Count + 1 };
            else
                rows.Add(new FoundRow(header.Number, 1, place));
        }

        return rows;
    }

    // The copy of the first records is no part of the table.
    private static IEnumerable<long> Candidates(NtfsLayout layout)
    {
        int step = Math.Min(layout.Boot.ClusterBytes, layout.Boot.RecordBytes);
        var mirror = new ByteRange(layout.Boot.MirrorOffset, (long)layout.Boot.MirrorRecords * layout.Boot.RecordBytes);
        var whole = new ByteRange(0, Math.Min(layout.Part.Length, layout.Boot.VolumeBytes));
        var chunk = new byte[ChunkBytes];
        foreach (ByteRange held in Held.In(layout.Part, whole))
        {
            for (long at = (held.Offset + step - 1) / step * step; at < held.End; at += ChunkBytes)
            {
                int length = (int)Math.Min(ChunkBytes, held.End - at);
                layout.Part.TryRead(at, chunk.AsSpan(0, length));
                for (int i = 0; i + 4 <= length; i += step)
                {
                    if (chunk.AsSpan(i).StartsWith("FILE"u8) && (at + i < mirror.Offset || at + i >= mirror.End))
                        yield return at + i;
                }
            }
        }
    }
}
