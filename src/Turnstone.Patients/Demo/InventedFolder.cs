namespace Turnstone.Patients.Demo;

/// <summary>A folder of an invented volume while it is put together.</summary>
internal sealed class InventedFolder
{
    /// <summary>When all invented folders were made.</summary>
    public static DateTime Made { get; } = new(2031, 4, 2, 6, 0, 0, DateTimeKind.Utc);

    public SortedDictionary<string, InventedFolder> Folders { get; } = new(StringComparer.Ordinal);

    public List<(string Name, InventedFile File, uint[] Clusters)> Files { get; } = [];

    public void Add(ReadOnlySpan<string> names, InventedFile file, uint[] clusters)
    {
        if (names.Length == 1)
        {
            Files.Add((names[0], file, clusters));
            return;
        }

        if (!Folders.TryGetValue(names[0], out InventedFolder? folder))
            Folders[names[0]] = folder = new InventedFolder();
        folder.Add(names[1..], file, clusters);
    }
}
