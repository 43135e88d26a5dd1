using Microsoft.Data.Sqlite;

namespace Turnstone.Reading.Storage;

/// <summary>One SHA-256 for each MiB of the image that holds anything: of its held sectors only, in order.</summary>
internal sealed class DigestTable : IDisposable
{
    private readonly SqliteCommand _set, _all;

    public DigestTable(SqliteConnection database)
    {
        _set = database.CreateCommand();
        _set.CommandText = "INSERT INTO digest VALUES ($mib, $held, $sha256) ON CONFLICT (mib) DO UPDATE SET held = $held, sha256 = $sha256";
        _set.Parameters.Add("$mib", SqliteType.Integer);
        _set.Parameters.Add("$held", SqliteType.Integer);
        _set.Parameters.Add("$sha256", SqliteType.Blob);
        _all = database.CreateCommand();
        _all.CommandText = "SELECT mib, held, sha256 FROM digest ORDER BY mib";
    }

    /// <summary>Sets the digest of a MiB.</summary>
    /// <param name="mib">Which one, counted from 0.</param>
    /// <param name="heldSectors">How many sectors it was made of.</param>
    /// <param name="sha256">32 bytes.</param>
    public void Set(long mib, long heldSectors, byte[] sha256)
    {
        _set.Parameters[0].Value = mib;
        _set.Parameters[1].Value = heldSectors;
        _set.Parameters[2].Value = sha256;
        _set.ExecuteNonQuery();
    }

    /// <summary>All digests in order.</summary>
    public IEnumerable<(long Mib, long HeldSectors, byte[] Sha256)> All()
    {
        using SqliteDataReader reader = _all.ExecuteReader();
        while (reader.Read())
            yield return (reader.GetInt64(0), reader.GetInt64(1), reader.GetFieldValue<byte[]>(2));
    }

    public void Dispose()
    {
        _set.Dispose();
        _all.Dispose();
    }
}
