namespace Turnstone.Volumes;

/// <summary>Where an entry stands in its volume: folder names from the root, its own name last. Names are as on the disk, hostile ones too.</summary>
/// <remarks>A node shares its parent, so a million entries don't repeat their folders' names.</remarks>
/// <param name="Parent">The folder it stands in; null for the root itself.</param>
/// <param name="Name">Its own name; may hold any character, also '/', NUL, or a lone surrogate.</param>
public sealed record EntryPath(EntryPath? Parent, string Name)
{
    /// <summary>The volume's root folder.</summary>
    public static EntryPath Root { get; } = new(null, "");

    /// <summary>Whether this is the root folder.</summary>
    public bool IsRoot => Parent is null;

    /// <summary>An entry of this folder.</summary>
    public EntryPath this[string name] => new(this, name);

    /// <summary>Names from the first folder below the root to the entry itself.</summary>
    public IReadOnlyList<string> Names
    {
        get
        {
            var names = new List<string>();
            for (EntryPath? at = this; at is { IsRoot: false }; at = at.Parent)
                names.Add(at.Name);
            names.Reverse();
            return names;
        }
    }

    /// <summary>The path with '/' between names and none before the first; a '/' inside a name shows as ':'.</summary>
    public override string ToString() => string.Join('/', Names.Select(name => name.Replace('/', ':')));
}
