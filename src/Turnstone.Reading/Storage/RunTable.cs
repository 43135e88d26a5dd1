using Microsoft.Data.Sqlite;
using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Storage;

/// <summary>The durable map: the rows of table 'run', changed in place so that a checkpoint costs what changed, not what there is.</summary>
/// <remarks>Sectors in no row are unasked. Neighbours with equal marks are one row.</remarks>
internal sealed class RunTable : IDisposable
{
    private readonly SqliteCommand _before, _delete, _insert, _after, _all;

    public RunTable(SqliteConnection database)
    {
        _before = Command(database, "SELECT first, count, state, cause, asks, seal FROM run WHERE first < $a ORDER BY first DESC LIMIT 1", "$a");
        _after = Command(database, "SELECT first, count, state, cause, asks, seal FROM run WHERE first >= $a AND first <= $b ORDER BY first DESC LIMIT 1", "$a", "$b");
        _delete = Command(database, "DELETE FROM run WHERE first >= $a AND first < $b", "$a", "$b");
        _insert = Command(database, "INSERT INTO run VALUES ($first, $count, $state, $cause, $asks, $seal)", "$first", "$count", "$state", "$cause", "$asks", "$seal");
        _all = Command(database, "SELECT first, count, state, cause, asks, seal FROM run WHERE first >= $a AND first < $b ORDER BY first", "$a", "$b");
    }

    /// <summary>Puts a mark on a range, as <see cref="ReadMap.Set"/> does in memory.</summary>
    public void Set(SectorRange range, MapMark mark)
    {
        long start = range.Start.Value, end = range.End.Value;
        MapRun? before = One(_before, start);
        MapRun? last = One(_after, start, end);
        _delete.Parameters[0].Value = start;
        _delete.Parameters[1].Value = end + 1;
        _delete.ExecuteNonQuery();

        // What reaches over either edge is cut there, or joins the new run when the marks are equal.
        if (before is { } left && left.Range.End.Value >= start)
        {
            if (left.Range.End.Value > end)
                last = left;
            if (left.Mark == mark || left.Range.End.Value > start)
                Delete(left.Range.Start.Value);
            if (left.Mark == mark)
                start = left.Range.Start.Value;
            else if (left.Range.End.Value > start)
                Insert(left.Range.Start.Value, start, left.Mark);
        }

        if (last is { } right && right.Range.End.Value > end)
        {
            if (right.Mark == mark)
                end = right.Range.End.Value;
            else
                Insert(end, right.Range.End.Value, right.Mark);
        }

        if (mark.State != SectorState.Unasked)
            Insert(start, end, mark);
    }

    /// <summary>Rows that start in a stretch of sectors, in order.</summary>
    /// <exception cref="ReadFolderException">A row does not fit its seal or makes no sense.</exception>
    public IEnumerable<MapRun> Rows(long from, long to)
    {
        _all.Parameters[0].Value = from;
        _all.Parameters[1].Value = to;
        using SqliteDataReader reader = _all.ExecuteReader();
        while (reader.Read())
            yield return Take(reader);
    }

    /// <summary>The row that reaches over a sector from before it, if there is one.</summary>
    public MapRun? RowBefore(long sector) => One(_before, sector);

    public void Dispose()
    {
        foreach (SqliteCommand command in (SqliteCommand[])[_before, _after, _delete, _insert, _all])
            command.Dispose();
    }

    private static MapRun? One(SqliteCommand command, params ReadOnlySpan<long> values)
    {
        for (int i = 0; i < values.Length; i++)
            command.Parameters[i].Value = values[i];
        using SqliteDataReader reader = command.ExecuteReader();
        return reader.Read() ? Take(reader) : null;
    }

    private static MapRun Take(SqliteDataReader row)
    {
        long first = row.GetInt64(0), count = row.GetInt64(1), asks = row.GetInt64(4);
        string state = row.GetString(2), cause = row.GetString(3);
        if (first < 0 || count <= 0 || count > PackedRun.MaxSectors || asks is < 0 or > 255
            || Schema.State(state) is not { } known || !Schema.TryCause(cause, out RefusalCause? why)
            || Schema.Seal(first, count, state, cause, (int)asks) != row.GetInt64(5))
        {
            throw new ReadFolderException($"the map is damaged: the run at sector {first} does not fit its seal");
        }

        return new MapRun(new SectorRange(new Lba(first), new SectorCount(count)), new MapMark(known, why, (byte)asks));
    }

    private void Delete(long first)
    {
        _delete.Parameters[0].Value = first;
        _delete.Parameters[1].Value = first + 1;
        _delete.ExecuteNonQuery();
    }

    private void Insert(long start, long end, MapMark mark)
    {
        string state = Schema.Word(mark.State), cause = Schema.Word(mark.Cause);
        object[] row = [start, end - start, state, cause, (long)mark.Asks, Schema.Seal(start, end - start, state, cause, mark.Asks)];
        for (int i = 0; i < row.Length; i++)
            _insert.Parameters[i].Value = row[i];
        _insert.ExecuteNonQuery();
    }

    private static SqliteCommand Command(SqliteConnection database, string text, params ReadOnlySpan<string> names)
    {
        SqliteCommand command = database.CreateCommand();
#pragma warning disable CA2100 // the texts are the constants above
        command.CommandText = text;
#pragma warning restore CA2100
        foreach (string name in names)
            command.Parameters.Add(new SqliteParameter(name, value: null));
        return command;
    }
}
