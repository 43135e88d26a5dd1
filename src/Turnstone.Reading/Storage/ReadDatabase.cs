using System.Globalization;
using Microsoft.Data.Sqlite;
using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Storage;

/// <summary>read.db: the durable map, digests and sittings of one read, in SQLite's open file format.</summary>
/// <remarks>Write-ahead log and synchronous FULL: what a committed transaction says survives a loss of power. One thread at a time.</remarks>
internal sealed class ReadDatabase : IDisposable
{
    private readonly SqliteConnection _connection;

    private ReadDatabase(string path, SqliteOpenMode mode)
    {
        Path = path;
        _connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Mode = mode, Pooling = false }.ToString());
        _connection.Open();
    }

    public string Path { get; }

    public RunTable Runs { get; private set; } = null!;

    public DigestTable Digests { get; private set; } = null!;

    /// <summary>Makes a new one.</summary>
    public static ReadDatabase Create(string path, ReadRecord record) => Guarded(path, () =>
    {
        var database = new ReadDatabase(path, SqliteOpenMode.ReadWriteCreate);
        database.Run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL");
        database.InTransaction(() =>
        {
            database.Run(Schema.Create);
            foreach ((string key, string? value) in Facts(record))
                database.Run("INSERT INTO about VALUES ($key, $value)", ("$key", key), ("$value", value ?? ""));
        });
        return database.Prepare();
    });

    /// <summary>Opens one, for writing or only to look.</summary>
    /// <exception cref="ReadFolderException">It is no such file, or damaged.</exception>
    public static ReadDatabase Open(string path, bool toWrite) => Guarded(path, () =>
    {
        var database = new ReadDatabase(path, toWrite ? SqliteOpenMode.ReadWrite : SqliteOpenMode.ReadOnly);
        if (toWrite)
            database.Run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL");
        string? format = database.About("format");
        if (format != Schema.Format)
            throw new ReadFolderException($"{path} is of format '{format}', this program reads '{Schema.Format}'");
        return database.Prepare();
    });

    /// <summary>What is recorded of the patient.</summary>
    public ReadRecord Record()
    {
        return Guarded(Path, () => new ReadRecord(
            new SourceIdentity(About("source") ?? "", About("kind") ?? "", None(About("model")), None(About("serial"))),
            new Geometry(new SectorSize((int)Number("logical sector")), new SectorSize((int)Number("physical sector")), new SectorCount(Number("sectors")))));

        static string? None(string? text) => string.IsNullOrEmpty(text) ? null : text;
    }

    /// <summary>Builds the map from its rows; each is checked again on the way.</summary>
    /// <exception cref="ReadFolderException">Rows overlap, reach past the end, or don't fit their seal.</exception>
    public ReadMap LoadMap(SectorCount capacity) => Guarded(Path, () =>
    {
        var map = new ReadMap(capacity);
        Lba free = default;
        foreach (MapRun run in Runs.Rows(0, long.MaxValue))
        {
            if (run.Range.Start < free || run.Range.End > map.Whole.End)
                throw new ReadFolderException($"the map is damaged: the run at sector {run.Range.Start} overlaps another or reaches past the end");
            map.Set(run.Range, run.Mark);
            free = run.Range.End;
        }

        return map;
    });

    /// <summary>All digests in the order of their MiBs.</summary>
    /// <exception cref="ReadFolderException">The table is damaged.</exception>
    public IEnumerable<(long Mib, long HeldSectors, byte[] Sha256)> AllDigests()
    {
        using IEnumerator<(long Mib, long HeldSectors, byte[] Sha256)> rows = Digests.All().GetEnumerator();
        while (Guarded(Path, rows.MoveNext))
            yield return rows.Current;
    }

    /// <summary>Runs an action as one transaction: all of it becomes durable, or nothing.</summary>
    public void InTransaction(Action action) => Guarded(Path, () =>
    {
        Run("BEGIN IMMEDIATE");
        try
        {
            action();
            Run("COMMIT");
        }
        catch
        {
            TryRollBack();
            throw;
        }

        return this;
    });

    /// <summary>Notes that a sitting begins; answers its number.</summary>
    public long BeginSitting(DateTimeOffset when)
    {
        Run("INSERT INTO sitting (began) VALUES ($began)", ("$began", Instant(when)));
        return (long)Scalar("SELECT max(number) FROM sitting")!;
    }

    /// <summary>Notes how a sitting ended.</summary>
    public void EndSitting(long number, DateTimeOffset when, string why, TimeSpan took, long asked, long refusals) =>
        Run(
            "UPDATE sitting SET ended = $ended, why = $why, seconds = $seconds, asked = $asked, refusals = $refusals WHERE number = $number",
            ("$ended", Instant(when)), ("$why", why), ("$seconds", took.TotalSeconds), ("$asked", asked), ("$refusals", refusals), ("$number", number));

    /// <summary>Folds the log into the one file, so that what is left behind can be copied and opened by anybody.</summary>
    public void Fold() => Guarded(Path, () =>
    {
        Run("PRAGMA journal_mode = DELETE");
        return this;
    });

    public void Dispose()
    {
        Runs?.Dispose();
        Digests?.Dispose();
        _connection.Dispose();
    }

    private static T Guarded<T>(string path, Func<T> action)
    {
        try
        {
            return action();
        }
        catch (SqliteException e) when (e.SqliteErrorCode is 13 or 10)
        {
            throw new Media.Target.TargetFailure($"{path}: {e.Message}: make room or mend the target, then run the same command again", e);
        }
        catch (Exception e) when (e is SqliteException or FormatException or InvalidCastException or ArgumentException or InvalidOperationException)
        {
            throw new ReadFolderException($"{path} is damaged or no read map ({e.Message}): put back a copy of it, or read into another folder; the image itself is untouched", e);
        }
        catch (ReadFolderException e) when (!e.Message.Contains(path, StringComparison.Ordinal))
        {
            throw new ReadFolderException($"{path}: {e.Message}: put back a copy of it, or read into another folder; the image itself is untouched", e);
        }
    }

    private static IEnumerable<(string Key, string? Value)> Facts(ReadRecord record) =>
    [
        ("format", Schema.Format),
        ("source", record.Source.Address),
        ("kind", record.Source.Kind),
        ("model", record.Source.Model),
        ("serial", record.Source.Serial),
        ("sectors", record.Geometry.Capacity.ToString()),
        ("logical sector", record.Geometry.Logical.Bytes.ToString(CultureInfo.InvariantCulture)),
        ("physical sector", record.Geometry.Physical.Bytes.ToString(CultureInfo.InvariantCulture)),
    ];

    private static string Instant(DateTimeOffset when) => when.ToUniversalTime().ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);

    private ReadDatabase Prepare()
    {
        Runs = new RunTable(_connection);
        Digests = new DigestTable(_connection);
        return this;
    }

    private void TryRollBack()
    {
        try
        {
            Run("ROLLBACK");
        }
        catch (SqliteException)
        {
            // The failure that led here is the one to tell; SQLite has rolled back by itself.
        }
    }

    private string? About(string key) => Scalar("SELECT value FROM about WHERE key = $key", ("$key", key)) as string;

    private long Number(string key) => long.Parse(About(key) ?? throw new FormatException($"'{key}' is not recorded"), CultureInfo.InvariantCulture);

    private object? Scalar(string text, params ReadOnlySpan<(string Name, object Value)> values)
    {
        using SqliteCommand command = Command(text, values);
        return command.ExecuteScalar();
    }

    private void Run(string text, params ReadOnlySpan<(string Name, object Value)> values)
    {
        using SqliteCommand command = Command(text, values);
        command.ExecuteNonQuery();
    }

    private SqliteCommand Command(string text, ReadOnlySpan<(string Name, object Value)> values)
    {
        SqliteCommand command = _connection.CreateCommand();
#pragma warning disable CA2100 // only texts of this file come here
        command.CommandText = text;
#pragma warning restore CA2100
        foreach ((string name, object value) in values)
            command.Parameters.AddWithValue(name, value);
        return command;
    }
}
