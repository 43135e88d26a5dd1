using System.Buffers;

namespace Turnstone.Handover;

/// <summary>A payload or tag manifest (RFC 8493, sections 2.1.3 and 2.2.1): what it says of the files that are there, and which it misses.</summary>
internal sealed class Manifest
{
    private const string PayloadStart = "manifest-", TagStart = "tagmanifest-", End = ".txt";
    private static readonly SearchValues<char> Hexadecimal = SearchValues.Create("0123456789abcdefABCDEF");
    private readonly BagFiles _files;

    // By the file's number. A bag has as many lines as files, so plain arrays are the smallest.
    private readonly int[] _lines;
    private readonly byte[] _digests;
    private readonly bool[] _believed;
    private readonly Dictionary<string, int> _absent = new(StringComparer.Ordinal);

    private Manifest(string file, BagFiles files)
    {
        File = file;
        IsPayload = !IsTagManifest(file);
        Name = file[(IsPayload ? PayloadStart : TagStart).Length..^End.Length];
        Kind = DigestKind.Of(Name);
        _files = files;
        _lines = new int[files.Paths.Length];
        _believed = new bool[files.Paths.Length];
        _digests = new byte[files.Paths.Length * (long)(Kind?.Bytes ?? 0)];
    }

    /// <summary>Its own name.</summary>
    public string File { get; }

    /// <summary>Name of its digest, as in its own.</summary>
    public string Name { get; }

    /// <summary>Whether it lists files below data/.</summary>
    public bool IsPayload { get; }

    /// <summary>Its digest; null for one that is not known here.</summary>
    public DigestKind? Kind { get; }

    /// <summary>Listed files that are not there, with their lines.</summary>
    public IEnumerable<(string Path, int Line)> Absent => _absent.Select(file => (file.Key, file.Value));

    /// <summary>Whether a file in the bag's own folder is a manifest by its name.</summary>
    public static bool IsManifest(string file) =>
        file.EndsWith(End, StringComparison.Ordinal) && (file.StartsWith(PayloadStart, StringComparison.Ordinal) || IsTagManifest(file));

    /// <summary>Whether it is a tag manifest by its name.</summary>
    public static bool IsTagManifest(string file) =>
        file.EndsWith(End, StringComparison.Ordinal) && file.StartsWith(TagStart, StringComparison.Ordinal);

    /// <summary>Reads one; lines that cannot be believed are reported and left out.</summary>
    public static Manifest Read(string bag, string file, BagFiles files, BagDeclaration declaration, ProblemList problems)
    {
        var manifest = new Manifest(file, files);
        if (manifest.Kind is null)
            problems.NotValid(file, 0, $"digests of the kind '{manifest.Name}' cannot be checked here; known are md5, sha1, sha256, sha384, sha512, in lower case");
        foreach ((int number, string text) in TagLines.Read(bag, file, declaration.Encoding, problems))
            manifest.Take(number, text, declaration, problems);
        return manifest;
    }

    /// <summary>Line that lists a file that is there; 0 where none does.</summary>
    public int LineOf(int number) => _lines[number];

    /// <summary>The digest that a file should have; empty where the manifest gives none that can be one.</summary>
    public ReadOnlySpan<byte> DigestOf(int number) => _believed[number] ? Place(number) : [];

    private Span<byte> Place(int number) => _digests.AsSpan(number * Kind!.Bytes, Kind.Bytes);

    private void Take(int line, string text, BagDeclaration declaration, ProblemList problems)
    {
        int gap = text.AsSpan().IndexOfAny(' ', '\t');
        string written = gap < 0 ? "" : text[gap..].TrimStart(' ', '\t');
        if (gap <= 0 || written.Length == 0)
        {
            problems.NotComplete(File, line, "must be a digest, spaces, and a path");
            return;
        }

        string? path = ManifestPath.Read(written, IsPayload, declaration.IsFinal, out string? fault);
        if (path is null)
            problems.NotComplete(File, line, fault!);
        else if (Enter(path, line) is { } earlier)
            problems.NotComplete(File, line, $"'{path}' is listed a second time; line {earlier} lists it already");
        else
            TakeDigest(path, line, text.AsSpan(0, gap), problems);
    }

    private int? Enter(string path, int line)
    {
        if (_files.Number(path) is not { } number)
            return _absent.TryAdd(path, line) ? null : _absent[path];
        if (_lines[number] != 0)
            return _lines[number];
        _lines[number] = line;
        return null;
    }

    private void TakeDigest(string path, int line, ReadOnlySpan<char> text, ProblemList problems)
    {
        if (Kind is null)
            return;
        if (text.Length != 2 * Kind.Bytes || text.ContainsAnyExcept(Hexadecimal))
            problems.NotComplete(File, line, $"'{text}' is no {Kind.Name} digest, which has {2 * Kind.Bytes} hexadecimal digits");
        else if (_files.Number(path) is { } number)
            _believed[number] = Convert.FromHexString(text, Place(number), out _, out _) == OperationStatus.Done;
    }
}
