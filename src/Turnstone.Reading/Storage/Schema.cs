using System.IO.Hashing;
using System.Text;
using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Storage;

/// <summary>The words that stand in read.db. Described for strangers in docs/formats/read-folder.md.</summary>
internal static class Schema
{
    public const string Format = "turnstone read 1";

    public const string Create = """
        CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
        CREATE TABLE run (
            first INTEGER PRIMARY KEY, count INTEGER NOT NULL, state TEXT NOT NULL, cause TEXT NOT NULL,
            asks INTEGER NOT NULL, seal INTEGER NOT NULL) STRICT;
        CREATE TABLE digest (mib INTEGER PRIMARY KEY, held INTEGER NOT NULL, sha256 BLOB NOT NULL) STRICT;
        CREATE TABLE sitting (
            number INTEGER PRIMARY KEY, began TEXT NOT NULL, ended TEXT, why TEXT, seconds REAL, asked INTEGER, refusals INTEGER) STRICT;
        """;

    public static string Word(SectorState state) => state switch
    {
        SectorState.Unasked => "unasked",
        SectorState.Held => "held",
        SectorState.PassedOver => "passed over",
        SectorState.Refused => "refused",
        SectorState.Withheld => "withheld",
    };

    public static SectorState? State(string word) => word switch
    {
        "held" => SectorState.Held,
        "passed over" => SectorState.PassedOver,
        "refused" => SectorState.Refused,
        "withheld" => SectorState.Withheld,
        _ => null,
    };

    public static string Word(RefusalCause? cause) => cause is { } why ? Word(why) : "";

    public static string Word(RefusalCause cause) => cause switch
    {
        RefusalCause.Unspecified => "unspecified",
        RefusalCause.Medium => "medium error",
        RefusalCause.IdNotFound => "id not found",
        RefusalCause.Aborted => "aborted",
        RefusalCause.InterfaceCrc => "interface crc",
        RefusalCause.DeviceFault => "device fault",
        RefusalCause.NotReady => "not ready",
        RefusalCause.Hardware => "hardware",
        RefusalCause.PastEnd => "past the end",
        RefusalCause.Silence => "silence",
        RefusalCause.Gone => "gone",
    };

    public static bool TryCause(string word, out RefusalCause? cause)
    {
        cause = word.Length == 0 ? null : Causes.GetValueOrDefault(word);
        return word.Length == 0 || Causes.ContainsKey(word);
    }

    /// <summary>CRC-32 of the row as text, so that a row that was bent on the disk is not believed.</summary>
    public static long Seal(long first, long count, string state, string cause, int asks) =>
        Crc32.HashToUInt32(Encoding.UTF8.GetBytes($"{first}|{count}|{state}|{cause}|{asks}"));

    private static readonly Dictionary<string, RefusalCause?> Causes =
        Enum.GetValues<RefusalCause>().ToDictionary(cause => Word(cause), cause => (RefusalCause?)cause, StringComparer.Ordinal);
}
