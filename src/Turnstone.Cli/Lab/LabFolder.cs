using System.Text;
using Turnstone.Lab.Documents;

namespace Turnstone.Cli.Lab;

/// <summary>The folder in which the lab's verbs keep their documents: stock, outcomes, closed cases, dumps, cabinet log, ledger.</summary>
/// <remarks>One process at a time changes it: whoever does holds the file 'lock' in it. docs/formats/lab-folder.md tells what lies there.</remarks>
internal sealed class LabFolder(string path)
{
    public string Path { get; } = System.IO.Path.GetFullPath(path);

    /// <summary>Where it is when nobody says: below the user's data folder (XDG base directories).</summary>
    public static string Usual => System.IO.Path.Combine(
        Environment.GetEnvironmentVariable("XDG_DATA_HOME") is { Length: > 0 } data ? data
            : System.IO.Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".local", "share"),
        "turnstone", "lab");

    public string In(string name) => System.IO.Path.Combine(Path, name);

    public bool Has(string name) => File.Exists(In(name));

    /// <summary>Reads a document, or answers with the given one where there is none yet.</summary>
    public T Read<T>(string name, Func<string, string, Understood<T>> read, T none) =>
        Has(name) ? read(In(name), File.ReadAllText(In(name))).OrStop() : none;

    /// <summary>Runs a change while no other process may make one.</summary>
    public T Change<T>(Func<T> change)
    {
        Directory.CreateDirectory(Path);
        using FileStream turn = TakeTurn();
        return change();
    }

    /// <summary>Puts a document in place of the one there; call it inside <see cref="Change"/>.</summary>
    public void Write<T>(string name, T document) => Durable.Replace(In(name), Encoding.UTF8.GetBytes(LabDocument.Write(document)));

    /// <summary>The lab's tables: those of the program, with the edited ones of a folder in their place.</summary>
    /// <param name="tables">The folder; null for 'tables' in this one.</param>
    public TableShelf Tables(string? tables)
    {
        string folder = tables ?? In("tables");
        if (!Directory.Exists(folder))
            return tables is null ? TableShelf.Shipped : throw new BadInputException($"{folder}: there is no such folder of tables");
        return TableShelf.Shipped.With(Directory.EnumerateFiles(folder, "*.json").Order(StringComparer.Ordinal)
            .Select(f => (System.IO.Path.GetFileName(f), File.ReadAllText(f)))).OrStop();
    }

    private FileStream TakeTurn()
    {
        for (int tries = 0; ; tries++)
        {
            try
            {
                return new FileStream(In("lock"), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            }
            catch (IOException) when (tries < 100)
            {
                Thread.Sleep(100);
            }
            catch (IOException)
            {
                throw new BadInputException($"{In("lock")} is held by another process for more than ten seconds; try again when it has ended");
            }
        }
    }
}
