using Microsoft.Win32.SafeHandles;

namespace Turnstone.Media.Target;

/// <summary>A sparse raw image: the patient's bytes at their own offsets, holes where nothing was written.</summary>
/// <remarks>A hole reads as zeros, and so does a sector of zeros: only the read map tells them apart.</remarks>
public sealed class RawImage : IImageTarget
{
    private readonly SafeFileHandle _file;
    private readonly string _path;
    private readonly bool _isFresh;
    private readonly DirectWriter? _direct;

    private RawImage(string path, SafeFileHandle file, long length, bool isFresh, bool forWriting)
    {
        _path = path;
        _file = file;
        _isFresh = isFresh;
        _direct = forWriting ? DirectWriter.TryOpen(path) : null;
        Length = length;
    }

    /// <inheritdoc/>
    public long Length { get; }

    /// <summary>Makes a new image of that length, all holes.</summary>
    /// <exception cref="TargetFailure">It exists already, or cannot be made.</exception>
    public static RawImage Create(string path, long length) => Guarded(path, () =>
    {
        SafeFileHandle file = File.OpenHandle(path, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.ReadWrite);
        RandomAccess.SetLength(file, length);
        return new RawImage(path, file, length, isFresh: true, forWriting: true);
    });

    /// <summary>Opens an image for going on with a read.</summary>
    /// <exception cref="TargetFailure">It is not there, or its length is not the patient's.</exception>
    public static RawImage Open(string path, long length) => Guarded(path, () =>
    {
        SafeFileHandle file = File.OpenHandle(path, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite);
        long found = RandomAccess.GetLength(file);
        if (found == length)
            return new RawImage(path, file, length, isFresh: false, forWriting: true);
        file.Dispose();
        throw new TargetFailure($"{path} has {found} bytes, the patient {length}: it was cut or belongs to another read; bring the right image back or start in another folder");
    });

    /// <summary>Opens an image only to look at it.</summary>
    /// <exception cref="TargetFailure">It is not there or may not be read.</exception>
    public static RawImage Look(string path) => Guarded(path, () =>
    {
        SafeFileHandle file = File.OpenHandle(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        return new RawImage(path, file, RandomAccess.GetLength(file), isFresh: false, forWriting: false);
    });

    /// <inheritdoc/>
    public void Write(long offset, ReadOnlySpan<byte> bytes)
    {
        // In a fresh image a sector of zeros can stay a hole. In a resumed one bytes may stand there that a killed
        // process wrote and the map never heard of.
        if (_isFresh && !bytes.ContainsAnyExcept((byte)0))
            return;
        try
        {
            if (_direct is null || !_direct.TryWrite(offset, bytes))
                RandomAccess.Write(_file, bytes, offset);
        }
        catch (IOException e)
        {
            throw Failure(_path, e);
        }
    }

    /// <inheritdoc/>
    public void Read(long offset, Span<byte> into)
    {
        try
        {
            for (int got = 0, step; got < into.Length; got += step)
            {
                step = RandomAccess.Read(_file, into[got..], offset + got);
                if (step == 0)
                    throw new TargetFailure($"{_path} ends at byte {offset + got}: somebody cut it during the read");
            }
        }
        catch (IOException e) when (e is not TargetFailure)
        {
            throw Failure(_path, e);
        }
    }

    /// <inheritdoc/>
    public void MakeDurable()
    {
        try
        {
            RandomAccess.FlushToDisk(_file);
        }
        catch (IOException e)
        {
            throw Failure(_path, e);
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _direct?.Dispose();
        _file.Dispose();
    }

    private static RawImage Guarded(string path, Func<RawImage> open)
    {
        try
        {
            return open();
        }
        catch (Exception e) when (e is UnauthorizedAccessException or (IOException and not TargetFailure))
        {
            throw Failure(path, e);
        }
    }

    private static TargetFailure Failure(string path, Exception e) =>
        new($"{path}: {e.Message}: make room or mend the target, then run the same command again; what the map calls held is safe", e);
}
