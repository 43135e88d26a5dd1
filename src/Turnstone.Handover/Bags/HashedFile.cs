using System.Text;

namespace Turnstone.Handover;

/// <summary>A text file of the bag that is written line by line and knows its digests at the end.</summary>
/// <remarks>UTF-8 without byte order mark, lines end with LF.</remarks>
internal sealed class HashedFile : IDisposable
{
    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);
    private readonly FileStream _file;
    private readonly TwinHash _hash = new();

    /// <summary>Makes the file; there must be none.</summary>
    public HashedFile(string path) => _file = new FileStream(path, FileMode.CreateNew, FileAccess.Write, FileShare.Read, 1 << 16);

    /// <summary>Writes a line.</summary>
    public void Line(string text)
    {
        byte[] bytes = Utf8.GetBytes(text + "\n");
        _hash.Take(bytes);
        _file.Write(bytes);
    }

    /// <summary>Closes the file and gives its digests.</summary>
    public TwinDigest Finish()
    {
        _file.Flush(flushToDisk: true);
        _file.Dispose();
        return _hash.Finish();
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _file.Dispose();
        _hash.Dispose();
    }
}
