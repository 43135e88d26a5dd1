using System.Diagnostics;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Media.Files;

/// <summary>A regular file read as a drive: an image that somebody else took.</summary>
/// <remarks>Bytes after the last whole sector belong to no sector and are left out, and a note says how many.</remarks>
public sealed class FileSource : IBlockSource
{
    private readonly SafeFileHandle _file;

    /// <summary>Opens a file for reading.</summary>
    /// <param name="path">The file.</param>
    /// <param name="sector">Sector size of the drive that it stands for.</param>
    /// <exception cref="IOException">The file cannot be opened or is shorter than one sector.</exception>
    /// <exception cref="UnauthorizedAccessException">The file may not be read.</exception>
    public FileSource(string path, SectorSize sector)
    {
        _file = File.OpenHandle(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete, FileOptions.SequentialScan);
        long length = RandomAccess.GetLength(_file);
        if (length < sector.Bytes)
        {
            _file.Dispose();
            throw new IOException($"{path} has {length} bytes: not one sector of {sector.Bytes}");
        }

        Geometry = new Geometry(sector, sector, new SectorCount(length / sector.Bytes));
        Identity = new SourceIdentity(Path.GetFullPath(path), "file") { Notes = NotesOn(length % sector.Bytes, sector) };
    }

    /// <inheritdoc/>
    public SourceIdentity Identity { get; }

    /// <inheritdoc/>
    public Geometry Geometry { get; }

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        Memory<byte> buffer = Door.Check(this, range, into);
        long start = Stopwatch.GetTimestamp(), offset = range.Start.ByteOffset(Geometry.Logical);
        int got = 0;
        try
        {
            while (got < buffer.Length)
            {
                int step = RandomAccess.Read(_file, buffer.Span[got..], offset + got);
                if (step == 0)
                    return Door.Refuse(this, range, start, RefusalCause.PastEnd, got);
                got += step;
            }
        }
        catch (IOException e)
        {
            return Door.Refuse(this, range, start, Linux.BlockDeviceSource.CauseOf(e.HResult), got);
        }

        return new ReadOutcome.Bytes(buffer) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };
    }

    /// <inheritdoc/>
    public void Dispose() => _file.Dispose();

    private static string[] NotesOn(long trailing, SectorSize sector) => trailing == 0
        ? []
        : [$"the last {trailing} bytes of the file fill no sector of {sector} and are left out: was the image cut, or are its sectors of another size (--sector)?"];
}
