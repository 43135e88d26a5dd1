using System.Runtime.InteropServices;
using Turnstone.Media;
using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Contents;

/// <summary>The bytes of a simulated drive, from an image or out of the seed.</summary>
internal sealed class Content : IDisposable
{
    private readonly ImageView? _image;
    private readonly ulong _key;

    /// <summary>Opens the image, where there is one.</summary>
    /// <exception cref="IOException">The image cannot be opened.</exception>
    /// <exception cref="UnauthorizedAccessException">The image may not be read.</exception>
    public Content(ContentSpec spec, ulong seed)
    {
        _image = spec is ContentSpec.Image image ? new ImageView(image.Path, SectorSize.Small) : null;
        _key = Chance.Key(seed, "content");
    }

    /// <summary>Fills memory with the bytes at an offset of the drive; offset and length are multiples of 8.</summary>
    public void Fill(long offset, Span<byte> into)
    {
        if (_image is not null)
            _image.TryRead(offset, into);
        else
            Generate(_key, offset, into);
    }

    /// <summary>Bytes that look like no content at all, different for each key.</summary>
    public static void Generate(ulong key, long offset, Span<byte> into)
    {
        // SplitMix64 run as a counter: each eight bytes follow from their own place, so any sector can be made alone.
        ulong state = key + ((ulong)(offset / 8) * Chance.Golden);
        foreach (ref ulong word in MemoryMarshal.Cast<byte, ulong>(into))
        {
            state += Chance.Golden;
            word = Chance.Mix(state);
        }
    }

    public void Dispose() => _image?.Dispose();
}
