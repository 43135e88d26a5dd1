using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>What became of one entry of a volume: how much of it is held, what is missing, and how far that can be relied on.</summary>
public sealed record FileFinding
{
    internal FileFinding(string volume, Entry entry, ISectorView view)
    {
        Volume = volume;
        Entry = entry;
        View = view;
    }

    /// <summary>Name of the volume, unique on the disk.</summary>
    public string Volume { get; }

    /// <summary>The entry as the volume tells it.</summary>
    public Entry Entry { get; }

    /// <summary>The grade; null for a folder, a device node and the like, which have no bytes to grade.</summary>
    public Grade? Grade { get; init; }

    /// <summary>Bytes of the file that are held and known to be its own; 0 where the grade is <see cref="Grade.Named"/>.</summary>
    public long HeldBytes { get; init; }

    /// <summary>Parts that are missing, in file offsets and in order, none touching the next.</summary>
    public IReadOnlyList<ByteRange> Missing { get; init; } = [];

    /// <summary>What a technician should know of it: the entry's own notes first, then what the grading saw.</summary>
    public IReadOnlyList<string> Notes { get; init; } = [];

    /// <summary>Whether every byte is held; true for an empty file, false for what has no content.</summary>
    public bool AllBytesHeld => Grade switch
    {
        Findings.Grade.Proven or Findings.Grade.Whole or Findings.Grade.Doubtful or Findings.Grade.Traced => true,
        Findings.Grade.Holed or Findings.Grade.Named or null => false,
    };

    /// <summary>Missing bytes.</summary>
    public long MissingBytes => (Entry.Size ?? 0) - HeldBytes;

    /// <summary>What the entry's bytes are read through: for a deleted file, bytes that a live file has taken over are not held.</summary>
    internal ISectorView View { get; }

    /// <summary>Copies bytes of the file; answers false when any of them is missing, and leaves zeros there.</summary>
    /// <param name="offset">First byte of the file.</param>
    /// <param name="into">Where they go; offset and length lie inside the file.</param>
    /// <exception cref="InvalidOperationException">The finding is only a name: where its bytes lie is not known.</exception>
    public bool TryRead(long offset, Span<byte> into)
    {
        if (Grade is null or Findings.Grade.Named || Entry.Content is null)
            throw new InvalidOperationException($"'{Entry.Path.Name}' has no bytes to read: its grade is {Grade?.Word() ?? "none"}");
        return Entry.Content.TryRead(View, offset, into);
    }
}
