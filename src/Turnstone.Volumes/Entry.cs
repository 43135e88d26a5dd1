using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>What kind of thing an entry is.</summary>
public enum EntryKind
{
    /// <summary>A file.</summary>
    File,

    /// <summary>A folder.</summary>
    Folder,

    /// <summary>A named stream or fork of a file: the path's last name is the stream's.</summary>
    Stream,

    /// <summary>A symbolic link; its content is the target's path.</summary>
    Link,

    /// <summary>A device node, socket, pipe or other thing without content.</summary>
    Other,
}

/// <summary>Where a fact was read.</summary>
public enum Origin
{
    /// <summary>In the structure that is meant to hold it.</summary>
    Table,

    /// <summary>In the backup copy of that structure.</summary>
    Copy,

    /// <summary>In an older state that a journal, checkpoint or snapshot kept.</summary>
    Journal,

    /// <summary>In a structure found by searching, with no table that points to it.</summary>
    Scan,
}

/// <summary>How far a fact can be relied on.</summary>
public enum Certainty
{
    /// <summary>The structures that tell it are held and agree.</summary>
    Sure,

    /// <summary>Something that could confirm it is not held or damaged; nothing contradicts it.</summary>
    Likely,

    /// <summary>Put together from what usually holds: a deleted file's clusters taken in a row, a parent guessed.</summary>
    Guessed,
}

/// <summary>Flags that a file system keeps with an entry.</summary>
[Flags]
public enum EntryAttributes
{
    /// <summary>No flag.</summary>
    None = 0,

    /// <summary>Must not be changed.</summary>
    ReadOnly = 1,

    /// <summary>Not shown by default.</summary>
    Hidden = 2,

    /// <summary>Belongs to the operating system.</summary>
    System = 4,

    /// <summary>Changed since the last backup.</summary>
    Archive = 8,

    /// <summary>Stored compressed.</summary>
    Compressed = 16,

    /// <summary>Stored encrypted.</summary>
    Encrypted = 32,
}

/// <summary>Times that a file system keeps with an entry; null where it keeps none or holds no sensible one.</summary>
/// <remarks>FAT keeps local time with no zone: such a time is given with offset zero, and the volume's notes say so.</remarks>
public sealed record EntryTimes(DateTimeOffset? Modified, DateTimeOffset? Created = null, DateTimeOffset? Accessed = null, DateTimeOffset? Changed = null)
{
    /// <summary>No time known.</summary>
    public static EntryTimes None { get; } = new((DateTimeOffset?)null);
}

/// <summary>One file, folder, stream or link of a volume, as far as the held bytes support it.</summary>
public sealed record Entry
{
    /// <summary>Where it stands; the parent may be a stand-in such as 'lost+found' of our own for entries whose folder is not known.</summary>
    public required EntryPath Path { get; init; }

    /// <summary>What it is.</summary>
    public required EntryKind Kind { get; init; }

    /// <summary>Its bytes; null for a folder or other thing without content.</summary>
    public FileContent? Content { get; init; }

    /// <summary>Whether the file system has given it up.</summary>
    public bool Deleted { get; init; }

    /// <summary>Its times.</summary>
    public EntryTimes Times { get; init; } = EntryTimes.None;

    /// <summary>Its flags.</summary>
    public EntryAttributes Attributes { get; init; }

    /// <summary>Where the entry was read.</summary>
    public Origin Origin { get; init; }

    /// <summary>How sure its path and the place of its bytes are; the less sure of the two.</summary>
    public Certainty Certainty { get; init; }

    /// <summary>The file system's own number for it (inode, record, first cluster); null where it has none.</summary>
    public long? Number { get; init; }

    /// <summary>What a technician should know of it: a chain cut short, a checksum that does not fit.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];

    /// <summary>Bytes of the file; null for a folder or other thing without content.</summary>
    public long? Size => Content?.Length;
}
