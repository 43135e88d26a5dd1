using Microsoft.Win32.SafeHandles;

namespace Turnstone.Media;

/// <summary>A plain image file in which everything up to its end is held: a finished copy from elsewhere.</summary>
public sealed class ImageView : ISectorView, IDisposable
{
    private readonly SafeFileHandle _file;

    /// <summary>Opens an image for reading.</summary>
    /// <param name="path">The file.</param>
    /// <param name="sectorSize">Sector size of the drive that it came from; 512 where nothing else is known.</param>
    /// <exception cref="IOException">The file cannot be opened.</exception>
    /// <exception cref="UnauthorizedAccessException">The file may not be read.</exception>
    public ImageView(string path, SectorSize sectorSize)
    {
        _file = File.OpenHandle(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
        Length = RandomAccess.GetLength(_file);
        SectorSize = sectorSize;
    }

    /// <inheritdoc/>
    public long Length { get; }

    /// <inheritdoc/>
    public SectorSize SectorSize { get; }

    /// <inheritdoc/>
    public bool TryRead(long offset, Span<byte> into)
    {
        int held = offset < 0 || offset >= Length ? 0 : (int)Math.Min(into.Length, Length - offset);
        into[held..].Clear();
        int got = 0;
        while (got < held)
        {
            int step = RandomAccess.Read(_file, into[got..held], offset + got);
            if (step == 0)
                break;
            got += step;
        }

        into[got..held].Clear();
        return got == into.Length;
    }

    /// <inheritdoc/>
    public IEnumerable<ByteRange> Missing(ByteRange range) =>
        range.End <= Length ? [] : [ByteRange.Between(Math.Max(range.Offset, Length), range.End)];

    /// <inheritdoc/>
    public void Dispose() => _file.Dispose();
}
