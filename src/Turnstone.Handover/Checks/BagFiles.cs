namespace Turnstone.Handover;

/// <summary>The plain files of a bag, numbered in the order of their paths' code units.</summary>
internal sealed class BagFiles
{
    private readonly Dictionary<string, int> _numbers;

    /// <summary>Takes the files in any order.</summary>
    public BagFiles(List<(string Path, long Size)> files)
    {
        files.Sort((left, right) => string.CompareOrdinal(left.Path, right.Path));
        Paths = [.. files.Select(file => file.Path)];
        Sizes = [.. files.Select(file => file.Size)];
        _numbers = Enumerable.Range(0, Paths.Length).ToDictionary(number => Paths[number], StringComparer.Ordinal);
    }

    /// <summary>Paths in the bag, '/' between names.</summary>
    public string[] Paths { get; }

    /// <summary>Bytes of each.</summary>
    public long[] Sizes { get; }

    /// <summary>Whether the file belongs to the payload.</summary>
    public static bool IsPayload(string path) => path.StartsWith("data/", StringComparison.Ordinal);

    /// <summary>The number of a path, or null for a file that is not there.</summary>
    public int? Number(string path) => _numbers.TryGetValue(path, out int number) ? number : null;

    /// <summary>Whether it is there.</summary>
    public bool Has(string path) => _numbers.ContainsKey(path);
}
