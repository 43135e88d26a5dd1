using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Firmware;

/// <summary>What was dumped.</summary>
public enum DumpKind
{
    /// <summary>The ROM of the board.</summary>
    Rom,

    /// <summary>A module of the service area.</summary>
    ServiceArea,
}

/// <summary>One take of a dump.</summary>
/// <param name="Case">The case.</param>
/// <param name="Drive">Whose it is: the patient or a donor, by serial number.</param>
/// <param name="Kind">What was dumped.</param>
/// <param name="Name">Name of the module; 'rom' for a ROM.</param>
/// <param name="Source">The file that the reading tool wrote; two takes have two.</param>
/// <param name="Size">Bytes.</param>
/// <param name="Digest">Of all bytes.</param>
/// <param name="When">When it was kept.</param>
/// <param name="Who">Who took it.</param>
public sealed record DumpTake(string Case, SerialNumber Drive, DumpKind Kind, string Name, string Source, long Size, Sha256Digest Digest, DateTimeOffset When, string Who);

/// <summary>Something that was written back to a drive.</summary>
/// <param name="Case">The case.</param>
/// <param name="Drive">Which drive.</param>
/// <param name="Kind">What was written.</param>
/// <param name="Name">Name of the module.</param>
/// <param name="Digest">Of the bytes that were written.</param>
/// <param name="When">When.</param>
/// <param name="Who">Who wrote it.</param>
/// <param name="Why">What for.</param>
public sealed record WrittenBack(string Case, SerialNumber Drive, DumpKind Kind, string Name, Sha256Digest Digest, DateTimeOffset When, string Who, string Why);

/// <summary>Whether a dump may be relied on.</summary>
public enum DumpStanding
{
    /// <summary>Nothing was kept.</summary>
    NotTaken,

    /// <summary>One take: it may be misread.</summary>
    TakenOnce,

    /// <summary>Two takes have the same digest.</summary>
    Agreed,

    /// <summary>There are takes and no two agree.</summary>
    Differ,
}

/// <summary>All dumps that were kept and all that was written back. Turnstone issues no command to a drive's firmware: it keeps, compares and proves.</summary>
public sealed record DumpBook
{
    /// <summary>Nothing yet.</summary>
    public static DumpBook Empty { get; } = new() { Takes = [], Written = [] };

    /// <summary>All takes, in order.</summary>
    public required IReadOnlyList<DumpTake> Takes { get; init; }

    /// <summary>All that was written back, in order.</summary>
    public required IReadOnlyList<WrittenBack> Written { get; init; }

    /// <summary>Reads the book.</summary>
    public static Understood<DumpBook> Read(string file, string text) => LabDocument.Read<DumpBook>(file, text);

    /// <summary>How a dump stands.</summary>
    public DumpStanding Standing(string caseName, SerialNumber drive, DumpKind kind, string name)
    {
        Sha256Digest[] digests = [.. Of(caseName, drive, kind, name).Select(t => t.Digest)];
        return digests.Length switch
        {
            0 => DumpStanding.NotTaken,
            1 => DumpStanding.TakenOnce,
            _ => digests.Distinct().Count() < digests.Length ? DumpStanding.Agreed : DumpStanding.Differ,
        };
    }

    /// <summary>Keeps a take.</summary>
    /// <returns>Why it can't be kept; null where it is.</returns>
    public string? TryKeep(DumpTake take, out DumpBook book)
    {
        book = this;
        if (take.Size == 0)
            return $"{take.Source} is empty; read the drive again";
        if (Of(take.Case, take.Drive, take.Kind, take.Name).Any(t => t.Source == take.Source))
            return $"{take.Source} was kept already; the second take is a second reading of the drive into another file, for a copy of the first proves nothing";
        book = this with { Takes = [.. Takes, take] };
        return null;
    }

    /// <summary>Notes what was written back. Refused where what stood there was not kept twice.</summary>
    /// <returns>Why it can't be; null where it is noted.</returns>
    public string? TryNoteWritten(WrittenBack written, out DumpBook book)
    {
        book = this;
        DumpStanding standing = Standing(written.Case, written.Drive, written.Kind, written.Name);
        if (standing != DumpStanding.Agreed)
            return $"{Words.Of(written.Kind)} '{written.Name}' of {written.Drive} {Said(standing)}; nothing may be written before two takes of what stands there agree";
        book = this with { Written = [.. Written, written] };
        return null;
    }

    private static string Said(DumpStanding standing) => standing switch
    {
        DumpStanding.NotTaken => "was not taken",
        DumpStanding.TakenOnce => "was taken once only",
        DumpStanding.Agreed => "was taken twice alike",
        DumpStanding.Differ => "has takes of which no two agree",
    };

    private IEnumerable<DumpTake> Of(string caseName, SerialNumber drive, DumpKind kind, string name) =>
        Takes.Where(t => t.Case == caseName && t.Drive == drive && t.Kind == kind && t.Name == name);
}
