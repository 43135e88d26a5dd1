namespace Turnstone.Volumes.Ntfs;

/// <summary>Makes a file table of records found by searching, or fills the unknown places of one with them.</summary>
internal static class FoundTable
{
    /// <summary>The table; what it told itself stands, the rest is what was found.</summary>
    /// <param name="layout">The volume.</param>
    /// <param name="told">The table as far as its own record tells it, or null.</param>
    public static MasterFileTable Fill(NtfsLayout layout, MasterFileTable? told)
    {
        int recordBytes = layout.Boot.RecordBytes;
        List<(FoundRow Row, Certainty Certainty)> rows = Resolve(RecordScan.Find(layout), layout);
        long size = told is null ? (rows.Count == 0 ? 1 : rows.Max(r => r.Row.First + r.Row.Count)) * recordBytes : told.Count * recordBytes;
        var extents = new ExtentList(size);
        var found = new List<FoundRecords>();
        int next = 0;
        foreach (Extent known in told?.Extents ?? [Extent.Unknown(size)])
        {
            if (known.Kind == ExtentKind.Unknown)
                FillGap(extents, extents.Covered + known.Length, rows, ref next, recordBytes, found);
            else
                extents.Add(known);
        }

        return new MasterFileTable(layout.Part, extents.Finish(), recordBytes, found);
    }

    private static void FillGap(ExtentList extents, long end, List<(FoundRow Row, Certainty Certainty)> rows, ref int next, int recordBytes, List<FoundRecords> found)
    {
        long first = (extents.Covered + recordBytes - 1) / recordBytes, last = end / recordBytes;
        for (; next < rows.Count && rows[next].Row.First < last; next++)
        {
            (FoundRow row, Certainty certainty) = rows[next];
            long from = Math.Max(first, row.First), to = Math.Min(last, row.First + row.Count);
            if (from >= to)
                continue;
            extents.Add(Extent.Unknown((from * recordBytes) - extents.Covered));
            extents.Add(Extent.At(row.Place + ((from - row.First) * recordBytes), (to - from) * recordBytes));
            found.Add(new FoundRecords(from, to, certainty));

            // It may reach into the next gap.
            if (row.First + row.Count > last)
                break;
        }

        extents.Add(Extent.Unknown(end - extents.Covered));
    }

    /// <summary>Cuts the rows so that each number has one place, and tells how sure that is. The longer row wins: stray copies are short.</summary>
    private static List<(FoundRow Row, Certainty Certainty)> Resolve(List<FoundRow> rows, NtfsLayout layout)
    {
        var resolved = new List<(FoundRow, Certainty)>();
        var starts = rows.OrderBy(row => row.First).ToList();
        long[] bounds = [.. rows.SelectMany(row => (long[])[row.First, row.First + row.Count]).Distinct().Order()];
        var active = new SortedSet<FoundRow>(Comparer<FoundRow>.Create((a, b) => a.Count != b.Count ? b.Count.CompareTo(a.Count) : a.Place.CompareTo(b.Place)));
        int next = 0;
        for (int i = 0; i + 1 < bounds.Length; i++)
        {
            while (next < starts.Count && starts[next].First == bounds[i])
                active.Add(starts[next++]);
            active.RemoveWhere(row => row.First + row.Count <= bounds[i]);
            if (active.Count > 0)
                resolved.Add(Cut(active.Min, bounds[i], bounds[i + 1], isContested: active.Count > 1, layout));
        }

        return resolved;
    }

    // Only a record that lies where the table starts, counted from there, has more than its own word for its place.
    private static (FoundRow Row, Certainty Certainty) Cut(FoundRow row, long from, long to, bool isContested, NtfsLayout layout)
    {
        long place = row.Place + ((from - row.First) * layout.Boot.RecordBytes);
        bool isAnchored = place == layout.Boot.MftOffset + (from * layout.Boot.RecordBytes);
        return (new FoundRow(from, to - from, place), isAnchored && !isContested ? Certainty.Likely : Certainty.Guessed);
    }
}
