using Turnstone.Media;

namespace Turnstone.Volumes;

/// <summary>The bytes of one file as its file system describes them, read through whatever is held.</summary>
/// <remarks>A form of storage (plain, inside the record, compressed) is one small type; nobody else needs to know it.</remarks>
public abstract class FileContent
{
    /// <summary>Bytes of the file.</summary>
    public abstract long Length { get; }

    /// <summary>Where the stored bytes lie, in file order; null where that is not known, or they are part of a record.</summary>
    public abstract IReadOnlyList<Extent>? Extents { get; }

    /// <summary>The parts of the file, in file offsets and in order, that cannot be had from what is held.</summary>
    public abstract IEnumerable<ByteRange> Missing(ISectorView disk);

    /// <summary>Copies bytes of the file; answers false when any of them cannot be had, and leaves zeros there.</summary>
    /// <param name="disk">The whole source, not the volume.</param>
    /// <param name="offset">First byte of the file; offset and length lie inside <see cref="Length"/>.</param>
    /// <param name="into">Where they go.</param>
    public abstract bool TryRead(ISectorView disk, long offset, Span<byte> into);
}

/// <summary>A file whose bytes lie plainly at places of the source.</summary>
/// <param name="extents">Its stretches in file order; together exactly the file.</param>
public sealed class StoredContent(IReadOnlyList<Extent> extents) : FileContent
{
    private readonly long[] _starts = Starts(extents);

    /// <inheritdoc/>
    public override long Length => _starts[^1];

    /// <inheritdoc/>
    public override IReadOnlyList<Extent> Extents => extents;

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk) => Holes(disk).Joined();

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bool whole = true;
        int i = Array.BinarySearch(_starts, offset);
        for (i = i < 0 ? ~i - 1 : i; !into.IsEmpty && i < extents.Count; i++)
        {
            long skip = offset - _starts[i];
            Span<byte> part = into[..(int)Math.Min(into.Length, extents[i].Length - skip)];
            whole &= ReadPart(disk, extents[i], skip, part);
            offset += part.Length;
            into = into[part.Length..];
        }

        return whole && into.IsEmpty;
    }

    private static bool ReadPart(ISectorView disk, Extent extent, long skip, Span<byte> part)
    {
        if (extent.Kind == ExtentKind.Stored)
            return disk.TryRead(extent.Offset + skip, part);
        part.Clear();
        return extent.Kind == ExtentKind.Zeros;
    }

    private IEnumerable<ByteRange> Holes(ISectorView disk)
    {
        for (int i = 0; i < extents.Count; i++)
        {
            Extent extent = extents[i];
            if (extent.Kind == ExtentKind.Unknown)
                yield return new ByteRange(_starts[i], extent.Length);
            if (extent.Kind != ExtentKind.Stored)
                continue;
            foreach (ByteRange hole in disk.Missing(extent.Place))
                yield return new ByteRange(_starts[i] + hole.Offset - extent.Offset, hole.Length);
        }
    }

    private static long[] Starts(IReadOnlyList<Extent> extents)
    {
        var starts = new long[extents.Count + 1];
        for (int i = 0; i < extents.Count; i++)
            starts[i + 1] = checked(starts[i] + extents[i].Length);
        return starts;
    }
}

/// <summary>A file so small that its bytes lie inside its own record, already taken out of it.</summary>
/// <param name="bytes">The file.</param>
public sealed class ResidentContent(ReadOnlyMemory<byte> bytes) : FileContent
{
    /// <inheritdoc/>
    public override long Length => bytes.Length;

    /// <inheritdoc/>
    public override IReadOnlyList<Extent>? Extents => null;

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk) => [];

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        bytes.Span.Slice((int)offset, into.Length).CopyTo(into);
        return true;
    }
}

/// <summary>A file of which nothing but the size is known, or whose bytes cannot be turned into the file here.</summary>
/// <param name="length">Bytes of the file.</param>
/// <param name="why">What stands in the way, for a person: 'the record is not held', 'encrypted', 'compressed in a way that is not decoded'.</param>
/// <param name="extents">Where its stored form lies, if that is known.</param>
public sealed class UnreadableContent(long length, string why, IReadOnlyList<Extent>? extents = null) : FileContent
{
    /// <summary>What stands in the way.</summary>
    public string Why => why;

    /// <inheritdoc/>
    public override long Length => length;

    /// <inheritdoc/>
    public override IReadOnlyList<Extent>? Extents => extents;

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Missing(ISectorView disk) => length == 0 ? [] : [new ByteRange(0, length)];

    /// <inheritdoc/>
    public override bool TryRead(ISectorView disk, long offset, Span<byte> into)
    {
        into.Clear();
        return into.IsEmpty;
    }
}
