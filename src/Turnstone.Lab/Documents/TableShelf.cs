using System.Reflection;

namespace Turnstone.Lab.Documents;

/// <summary>The lab's tables: the shipped ones, each of which a file of the same name in the lab's own folder takes the place of.</summary>
public sealed class TableShelf
{
    private const string Prefix = "Turnstone.Lab.Tables.";
    private readonly SortedDictionary<string, string> _texts;

    private TableShelf(SortedDictionary<string, string> texts) => _texts = texts;

    /// <summary>The tables that come with the program.</summary>
    public static TableShelf Shipped { get; } = new(ReadShipped());

    /// <summary>File names of all tables, in alphabetical order.</summary>
    public IEnumerable<string> Files => _texts.Keys;

    /// <summary>The text of a table.</summary>
    /// <exception cref="ArgumentException">No table has that name.</exception>
    public string this[string file] => _texts.TryGetValue(file, out string? text) ? text : throw new ArgumentException($"no table is called '{file}'", nameof(file));

    /// <summary>The shelf with edited tables in place of the shipped ones.</summary>
    /// <param name="edited">File name and text. A file called 'protocol-*.json' may also be a new one.</param>
    public Understood<TableShelf> With(IEnumerable<(string File, string Text)> edited)
    {
        var texts = new SortedDictionary<string, string>(_texts, StringComparer.Ordinal);
        foreach ((string file, string text) in edited)
        {
            if (!_texts.ContainsKey(file) && !file.StartsWith("protocol-", StringComparison.Ordinal))
                return new Understood<TableShelf>.Wrong(new Fault(file, 0, "", $"no table has this name; tables are {string.Join(", ", Files)}"));
            texts[file] = text;
        }

        return new Understood<TableShelf>.Value(new TableShelf(texts));
    }

    /// <summary>Reads one table.</summary>
    /// <param name="file">Its name.</param>
    /// <param name="check">What must hold beyond the form.</param>
    public Understood<T> Read<T>(string file, Func<T, IEnumerable<Complaint>> check)
        where T : class => LabDocument.Read(file, this[file], check);

    private static SortedDictionary<string, string> ReadShipped()
    {
        Assembly assembly = typeof(TableShelf).Assembly;
        var texts = new SortedDictionary<string, string>(StringComparer.Ordinal);
        foreach (string name in assembly.GetManifestResourceNames().Where(n => n.StartsWith(Prefix, StringComparison.Ordinal)))
        {
            using var reader = new StreamReader(assembly.GetManifestResourceStream(name)!);
            texts[name[Prefix.Length..]] = reader.ReadToEnd();
        }

        return texts;
    }
}
