using Turnstone.Volumes.Apple;

namespace Turnstone.Volumes.HfsPlus;

/// <summary>An entry's bytes and what is to be said of them.</summary>
internal sealed record MadeContent(FileContent Content, Certainty Certainty, Origin Origin, EntryAttributes Attributes, IReadOnlyList<string> Notes);

/// <summary>Finds a file's bytes: its data fork, or for a compressed file its attribute and its resource fork.</summary>
internal sealed class ContentMaker(VolumeReading reading)
{
    private const int CompressedFlag = 0x20;

    // An old state of a record often dates from the moment when the file was made: nothing says that it stayed empty.
    private static readonly MadeContent Unwritten = new(OfUnknownSize("only a record from before its bytes were written is left"), Certainty.Guessed, Origin.Scan, EntryAttributes.None,
        ["only a record from before its bytes were written is left: its size is not known"]);

    /// <summary>Content of a file whose size is not known: one byte that cannot be had, so that nobody takes it for an empty file.</summary>
    public static FileContent OfUnknownSize(string why) => new UnreadableContent(1, why);

    public MadeContent Data(CatalogRecord file, bool old)
    {
        ForkPlace data = reading.Forks.Place(file.DataFork, file.Id, ForkKind.Data, old);
        if (old && data.Size == 0 && !IsCompressed(file))
            return Unwritten;
        if (!IsCompressed(file))
            return Plain(data);
        if (!old && reading.Attributes.Compression(file.Id) is { } attribute)
            return Compressed(file, attribute.Data, attribute.Standing);
        return !old && reading.Attributes.IsComplete
            ? Plain(data) with { Notes = [.. data.Notes, "flagged as compressed, but nothing says how"] }
            : new MadeContent(OfUnknownSize("compressed, and the attribute that says how is not held"), Certainty.Likely, Origin.Table, EntryAttributes.Compressed,
                ["compressed; the attribute that says its size is not held"]);
    }

    /// <summary>The resource fork, unless it is empty or only holds the compressed form of the file.</summary>
    public MadeContent? ResourceFork(CatalogRecord file, bool old)
    {
        ForkData fork = file.ResourceFork;
        return fork.LogicalSize == 0 || IsCompressed(file) ? null : Plain(reading.Forks.Place(fork, file.Id, ForkKind.Resource, old));
    }

    private static bool IsCompressed(CatalogRecord file) => (file.OwnerFlags & CompressedFlag) != 0 && file.DataFork.LogicalSize == 0;

    private static MadeContent Plain(ForkPlace place) => new(place.Content, place.Certainty, place.Origin, EntryAttributes.None, place.Notes);

    private MadeContent Compressed(CatalogRecord file, byte[] attribute, Standing standing)
    {
        ForkPlace fork = reading.Forks.Place(file.ResourceFork, file.Id, ForkKind.Resource);
        Certainty certainty = ForkPlaces.CertaintyOf(standing);
        certainty = certainty > fork.Certainty ? certainty : fork.Certainty;
        return CompressionHeader.Read(attribute).Match(
            value: header => new MadeContent(header.Content(fork.Content), certainty, fork.Origin, EntryAttributes.Compressed, fork.Notes),
            damaged: damage => new MadeContent(OfUnknownSize(damage.What), Certainty.Likely, fork.Origin, EntryAttributes.Compressed, [damage.What]),
            notHeld: () => throw new System.Diagnostics.UnreachableException());
    }
}
