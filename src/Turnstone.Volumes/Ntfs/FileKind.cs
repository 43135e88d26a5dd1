namespace Turnstone.Volumes.Ntfs;

/// <summary>Tells files, folders and links apart, and files whose content is elsewhere.</summary>
/// <param name="contents">Turns streams into content.</param>
internal sealed class FileKind(StreamContent contents)
{
    /// <summary>The file's kind, and the content of its unnamed stream; none for a folder.</summary>
    /// <param name="file">The file.</param>
    /// <param name="nameSize">What its name says of the size, for when nothing better is held.</param>
    public (EntryKind Kind, ToldContent Told) Of(FileRecord file, long nameSize)
    {
        AttributeFacts? stream = file.Find(AttributeType.Data);
        if (file.Find(AttributeType.ReparsePoint) is var reparse && (reparse is not null || file.Info is { HasReparsePoint: true }))
            return Reparse(file, reparse, stream, nameSize);
        if (file.Header.IsFolder)
            return (EntryKind.Folder, default);
        if (PosixLinkTarget(file, stream) is { } target)
            return (EntryKind.Link, new ToldContent(StreamContent.Link(target), Certainty.Sure, Note: null));
        return (EntryKind.File, contents.Of(file, stream, nameSize));
    }

    private (EntryKind Kind, ToldContent Told) Reparse(FileRecord file, AttributeFacts? reparse, AttributeFacts? stream, long nameSize)
    {
        EntryKind kind = file.Header.IsFolder ? EntryKind.Folder : EntryKind.File;
        if (reparse is not { Value: { } value, ValueHoles.Count: 0 } || ReparsePoint.Read(value) is not Parsed<ReparsePoint>.Value { Item: var point })
        {
            // Without it nobody can tell whether the stream is the content.
            const string Why = "its reparse point, which may say that the content is elsewhere, is not held or damaged";
            return (kind, kind == EntryKind.Folder ? default : new ToldContent(new UnreadableContent(stream?.Size ?? nameSize, Why), Certainty.Likely, Note: null));
        }

        if (point.Target is { } target)
            return (EntryKind.Link, new ToldContent(StreamContent.Link(target), Certainty.Sure, Note: null));
        if (kind == EntryKind.Folder || point.ContentIsElsewhere is not { } elsewhere)
            return (kind, kind == EntryKind.Folder ? default : contents.Of(file, stream, nameSize));
        IReadOnlyList<Extent>? packed = point.IsSystemCompressed && file.Find(AttributeType.Data, ReparsePoint.PackedStream) is { } bytes ? contents.Places(bytes.Runs()) : null;
        return (kind, new ToldContent(new UnreadableContent(stream?.Size ?? nameSize, elsewhere, packed), Certainty.Sure, Note: null));
    }

    // How POSIX layers write a link without a reparse point: a system file that starts with this mark (seen: ntfs-3g 2022.10.3 reads it).
    private static string? PosixLinkTarget(FileRecord file, AttributeFacts? stream)
    {
        ReadOnlySpan<byte> mark = "IntxLNK\x01"u8;
        bool isLink = file.Info is { Flags: var flags } && (flags & 4) != 0 && stream is { Value: { } value, ValueHoles.Count: 0 } && value.AsSpan().StartsWith(mark);
        return isLink ? Utf16.Of(stream!.Value.AsSpan(mark.Length, (stream.Value!.Length - mark.Length) & ~1)) : null;
    }
}
